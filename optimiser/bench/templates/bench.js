"use strict";
// Everything here only makes quicker what the forms do without it.
document.documentElement.classList.add("scripted");

// A search that runs: its words are asked for anew, and its answer is opened when it is there.
for (const box of document.querySelectorAll("[data-watch]")) {
  const words = box.querySelector(".words");
  const look = async () => {
    try {
      const now = await (await fetch(box.dataset.watch)).json();
      if (now.done) return location.reload();
      if (words.textContent !== now.standing) words.textContent = now.standing;
    } catch { words.textContent = "The bench does not answer; looking again."; }
    setTimeout(look, 900);
  };
  setTimeout(look, 900);
}

// What if: the answer follows what is typed.
for (const form of document.querySelectorAll("form[data-live]")) {
  let wait, number = 0;
  const ask = async () => {
    const mine = ++number, query = new URLSearchParams(new FormData(form));
    const answer = await fetch(form.action + "?" + query + "&part=answer");
    const text = await answer.text();
    if (mine !== number || !answer.ok) return;
    history.replaceState(null, "", form.action + "?" + query);
    document.getElementById("answer").replaceWith(new DOMParser().parseFromString(text, "text/html").getElementById("answer"));
  };
  const soon = () => { clearTimeout(wait); wait = setTimeout(ask, 120); };
  form.addEventListener("input", soon);
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });

  // Shims as pieces that are dragged: into the stack, to another place in it, or out of it.
  const text = form.querySelector("textarea"), chips = form.querySelector(".chips");
  const single = (line) => { const many = line.match(/^\s*(\d+) of (.+)$/); return many ? Array(Math.min(+many[1], 200)).fill(many[2].trim()) : [line.trim()]; };
  const shims = () => text.value.split("\n").filter((line) => line.trim()).flatMap(single);
  const write = (list) => { text.value = list.join("\n"); draw(); soon(); };
  let dragged = null;
  const draw = () => {
    // Lines that say what changes, and no whole stack, have no pieces.
    chips.hidden = !shims().every((name) => /^[\d.,]+\s*x\s*[\d.,]+/.test(name));
    if (chips.hidden) return;
    const widest = Math.max(...shims().map((name) => parseFloat(name) || 1));
    const focused = [...chips.children].indexOf(document.activeElement);
    chips.replaceChildren(...shims().map((name, place) => {
      const chip = document.createElement("button");
      chip.type = "button"; chip.className = "shim"; chip.textContent = name; chip.draggable = true;
      chip.style.width = Math.max(100 * parseFloat(name) / widest, 24) + "%";
      chip.setAttribute("aria-label", name + ", place " + (place + 1) + ", take it out");
      chip.addEventListener("dragstart", () => { dragged = { name, place }; });
      chip.addEventListener("dragover", (event) => { event.preventDefault(); chip.classList.add("over"); });
      chip.addEventListener("dragleave", () => chip.classList.remove("over"));
      chip.addEventListener("drop", (event) => {
        event.preventDefault(); event.stopPropagation();
        const list = shims();
        if (dragged.place !== undefined) list.splice(dragged.place, 1);
        list.splice(dragged.place !== undefined && dragged.place < place ? place - 1 : place, 0, dragged.name);
        dragged = null; write(list);
      });
      chip.addEventListener("dragend", (event) => {
        if (dragged && event.dataTransfer.dropEffect === "none") { const list = shims(); list.splice(place, 1); dragged = null; write(list); }
      });
      chip.addEventListener("click", () => { const list = shims(); list.splice(place, 1); write(list); });
      return chip;
    }));
    if (focused >= 0 && chips.children.length) chips.children[Math.min(focused, chips.children.length - 1)].focus();
  };
  form.querySelector("details.typed").open = false;
  chips.addEventListener("dragover", (event) => event.preventDefault());
  chips.addEventListener("drop", (event) => { event.preventDefault(); if (dragged && dragged.place === undefined) { const name = dragged.name; dragged = null; write([...shims(), name]); } });
  text.addEventListener("input", draw);
  for (const one of form.querySelectorAll("[data-shim]")) {
    const chip = document.createElement("button");
    chip.type = "button"; chip.className = "shim"; chip.textContent = one.dataset.shim; chip.draggable = true;
    chip.setAttribute("aria-label", "Put in " + one.dataset.shim);
    chip.addEventListener("dragstart", () => { dragged = { name: one.dataset.shim }; });
    chip.addEventListener("click", () => {
      // Where diameters fall, the new one lies behind the last that is no smaller.
      const list = shims(), size = parseFloat(one.dataset.shim);
      let place = list.findIndex((name) => parseFloat(name) < size);
      if (place < 0) place = list.length;
      list.splice(place, 0, one.dataset.shim); write(list);
    });
    one.replaceWith(chip);
  }
  draw();
}

// The goal: the edges of a band are dragged on the curve, and its numbers follow.
for (const plots of document.querySelectorAll("[data-drag]")) {
  const rows = [...document.querySelectorAll(".band")].filter((row) => row.querySelector("[data-end=low]").value);
  for (const svg of plots.querySelectorAll("svg")) {
    const last = +svg.dataset.last, left = +svg.dataset.left, right = +svg.dataset.right;
    const toX = (speed) => left + (right - left) * Math.sqrt(speed / last);
    for (const row of rows) {
      if (row.querySelector("select").value !== svg.dataset.stroke) continue;
      for (const field of row.querySelectorAll("[data-end]")) {
        const handle = document.createElementNS("http://www.w3.org/2000/svg", "path");
        const set = () => {
          const x = toX(Math.min(parseFloat(field.value) || 0, last));
          handle.setAttribute("d", `M${x} 30 V284 M${x - 7} 150 h14 v34 h-14 z`);
        };
        handle.setAttribute("class", "handle"); set();
        field.addEventListener("input", set);
        handle.addEventListener("pointerdown", (event) => handle.setPointerCapture(event.pointerId));
        handle.addEventListener("pointermove", (event) => {
          if (!handle.hasPointerCapture(event.pointerId)) return;
          const box = svg.getBoundingClientRect();
          const x = (event.clientX - box.left) * 640 / box.width;
          const share = Math.min(Math.max((x - left) / (right - left), 0.02), 1);
          field.value = (last * share * share).toPrecision(2) * 1; set();
        });
        svg.append(handle);
      }
    }
  }
}
