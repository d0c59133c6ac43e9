"""Dampers measured on an invented dyno: runs whose hidden truth is a damper of the model.

The traits are those of real recordings: gas as a pure offset, friction, a rig that gives, warming, noise from cycle to
cycle and from run to run, signs the wrong way round, a header that claims another rate than the time column has.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from damping_model.units import BAR, celsius
from optimiser.dyno.run import DynoPoint, DynoRun, PlotKind, SplitOff

Floats = NDArray[np.float64]

SPEEDS: Final = (0.02, 0.05, 0.13, 0.26, 0.52, 1.04)
"""Peak velocities of a usual session, the slow ones before them for gas and friction. [m/s]"""

CRANK: Final = 19.05e-3
"""Half a stroke of the dyno. [m]"""

FINE: Final = 1600
"""Steps of one turn of the crank."""

USUAL_SECTION: Final = 150e-6
"""Of a shaft of 14 mm. [m^2]"""

CREEP: Final = 1e-3
"""Friction has its full size beyond this velocity. [m/s]"""


@dataclass(frozen=True, kw_only=True)
class Traits:
    """What makes a dyno's figures differ from the damper's own.

    Parameters
    ----------
    cycle_noise : standard deviation of the damping from cycle to cycle. [-]
    run_noise : the same from run to run. [-]
    cell_noise : of every sample of the force. [N]
    warming : change of the damping over a hundred cycles. [-]
    stiffness : of rig, rod ends and oil column together; None for a rig that is stiff. [N/m]
    force_sign, travel_sign : -1 for a channel that was wired the other way round.
    rate : samples a second.
    zero : displacement at mid-stroke. [m]
    """

    cycle_noise: float = 0.002
    run_noise: float = 0.0
    cell_noise: float = 0.3
    warming: float = -0.012
    stiffness: float | None = 450e3
    force_sign: float = 1.0
    travel_sign: float = 1.0
    rate: float = 300.0
    zero: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Under what a twin is measured; None for the damper's own temperature."""

    clicks: Mapping[str, int] = field(default_factory=dict)
    temperature: float | None = None


AS_IT_IS: Final = Setting()
REAL: Final = Traits()


@dataclass(frozen=True, kw_only=True)
class TwinRecording:
    """One recording: what the channels hold, and the truth behind it.

    Parameters
    ----------
    time, displacement, force : as the machine recorded them, in SI and with the traits' signs.
    speed : peak velocity. [m/s]
    compression, rebound : damping at the peak velocity of either stroke, positive in compression. [N]
    gas, friction : that lie over the damping. [N]
    """

    time: Floats
    displacement: Floats
    force: Floats
    speed: float
    compression: float
    rebound: float
    gas: float
    friction: float


def damping_law(
    damper: Damper,
    setting: Setting = AS_IT_IS,
    *,
    fastest: float = 2.0,
    steel: SpringSteel | None = None,
) -> Callable[[Floats], Floats]:
    """Damping force against velocity of a damper of the model, as a function."""
    speeds = np.geomspace(1e-3, fastest, 60)
    velocities = np.concatenate([-speeds[::-1], speeds])
    curve = force_curve(
        damper, velocities=velocities, temperature=setting.temperature, clicks=setting.clicks, steel=steel
    )
    across = np.concatenate([-speeds[::-1], [0.0], speeds])
    up = np.concatenate([curve.damping_force[:60], [0.0], curve.damping_force[60:]])
    return lambda velocity: np.interp(velocity, across, up)


def gas_of(damper: Damper) -> float:
    """Push of the gas on the shaft. [N]

    A damper whose reservoir lies below its piston does not say the section of its shaft; a usual one is taken.
    """
    section = damper.displaced_area if damper.displaced_area > 0 else USUAL_SECTION
    return float(damper.gas_pressure * section)


def table_run(
    damper: Damper,
    *,
    speeds: Sequence[float] = SPEEDS,
    setting: Setting = AS_IT_IS,
    traits: Traits = REAL,
    seed: int = 0,
    name: str = "twin",
    cycles: int = 5,
    steel: SpringSteel | None = None,
) -> DynoRun:
    """A run at peaks of velocity, read without a fault: gas and friction split off as they truly are.

    One error of the whole run is drawn from ``run_noise``, one of every point from ``cycle_noise`` over the
    root of its cycles. The rig's compliance and the warming are no part of it.
    """
    rng = np.random.default_rng(seed)
    gas = gas_of(damper)
    velocities = np.concatenate([-np.array(sorted(speeds, reverse=True)), np.array(sorted(speeds))])
    whole = 1 + traits.run_noise * rng.standard_normal()
    curve = force_curve(
        damper, velocities=velocities, temperature=setting.temperature, clicks=setting.clicks, steel=steel
    )
    true = curve.damping_force * whole
    seen = true * (1 + traits.cycle_noise / np.sqrt(cycles) * rng.standard_normal(velocities.size))
    total = seen + gas + damper.friction * np.sign(velocities)
    points = tuple(
        DynoPoint(velocity=float(v), force=float(f), spread=float(traits.cycle_noise * abs(d)), cycles=cycles)
        for v, f, d in zip(velocities, total, true, strict=True)
    )
    return DynoRun(
        name=name,
        source="a twin",
        lines=(1, 1),
        kind=PlotKind.PEAK_VELOCITY,
        points=points,
        clicks=setting.clicks,
        temperature=setting.temperature or damper.temperature,
        gas_pressure=damper.gas_pressure,
        stroke=2 * CRANK,
        gas=SplitOff(force=gas, plus_minus=1.0, how="the twin's own"),
        friction=SplitOff(force=damper.friction, plus_minus=1.0, how="the twin's own"),
    )


def recording(
    damper: Damper,
    *,
    speed: float,
    cycles: int = 20,
    setting: Setting = AS_IT_IS,
    traits: Traits = REAL,
    motion: Literal["sine", "ramp"] = "sine",
    seed: int = 0,
    steel: SpringSteel | None = None,
) -> TwinRecording:
    """Time, displacement and force of a number of turns at one peak velocity, on a rig that gives.

    Notes
    -----
    The rig is a spring in series: k (x - y) = F(dy/dt), with x the crank's travel and y the damper's own.
    Implicit Euler over three turns; the last, periodic by then, is repeated with the noise of every cycle.
    """
    rng = np.random.default_rng(seed)
    law, gas = damping_law(damper, setting, fastest=2.5 * speed, steel=steel), gas_of(damper)
    period = (2 * np.pi if motion == "sine" else 4.0) * CRANK / speed
    phase, damping, drag = _turn(law, damper.friction, speed, period, motion, traits.stiffness)
    time = np.arange(round(cycles * period * traits.rate)) / traits.rate
    turn = (time / period + 0.25).astype(
        int
    )  # a new one begins at an end of the stroke, where nothing is read
    each = (1 + traits.run_noise * rng.standard_normal()) * (
        1
        + traits.cycle_noise * rng.standard_normal(cycles + 1)
        + traits.warming * np.arange(cycles + 1) / 100
    )
    place = (time / period) % 1.0
    force = np.interp(place, phase, damping, period=1.0) * each[turn] + np.interp(
        place, phase, drag, period=1.0
    )
    force = force + gas + traits.cell_noise * rng.standard_normal(time.size)
    return TwinRecording(
        time=time,
        displacement=traits.travel_sign * _travel(place, motion) + traits.zero,
        force=traits.force_sign * force,
        speed=speed,
        compression=float(law(np.array([speed]))[0]),
        rebound=float(law(np.array([-speed]))[0]),
        gas=gas,
        friction=damper.friction,
    )


def _travel(place: Floats, motion: str) -> Floats:
    """Displacement against the share of a turn; in compression first, from mid-stroke."""
    if motion == "sine":
        return CRANK * np.sin(2 * np.pi * place)
    return CRANK * (2 / np.pi) * np.arcsin(np.sin(2 * np.pi * place))


def _turn(
    law: Callable[[Floats], Floats],
    friction: float,
    speed: float,
    period: float,
    motion: str,
    stiffness: float | None,
) -> tuple[Floats, Floats, Floats]:
    """Share of a turn, damping and friction over the last of three turns."""
    phase = np.arange(FINE) / FINE
    step = period / FINE
    travel = _travel(np.arange(3 * FINE + 1) / FINE % 1.0, motion)
    if stiffness is None:
        velocity = np.gradient(travel, step)[2 * FINE : 3 * FINE]
        return phase, law(velocity), friction * np.tanh(velocity / CREEP)
    beyond = 2.0 * speed
    grid = np.sort(np.concatenate([np.linspace(-beyond, beyond, 4001), np.linspace(-5, 5, 2001) * CREEP]))
    pushed = law(grid) + friction * np.tanh(grid / CREEP) + stiffness * step * grid
    own, velocities = travel[0], np.empty(3 * FINE)
    for index in range(3 * FINE):
        velocities[index] = np.interp(stiffness * (travel[index + 1] - own), pushed, grid)
        own += velocities[index] * step
    last = velocities[2 * FINE - 1 : 3 * FINE - 1]
    return phase, law(last), friction * np.tanh(last / CREEP)


Layout = Mapping[str, tuple[str, float]]
"""Header of every column of a recording, and its unit's size in SI, by ``time``, ``displacement``, ``force``."""

PLAIN: Final[Layout] = {
    "time": ("Time (s)", 1.0),
    "displacement": ("Displacement (mm)", 1e-3),
    "force": ("Force (N)", 1.0),
}


def recording_text(
    twin: TwinRecording,
    *,
    layout: Layout = PLAIN,
    delimiter: str = ",",
    decimal: str = ".",
    about: Sequence[str] = (),
) -> str:
    """A recording as a machine writes it.

    Parameters
    ----------
    twin : what was recorded.
    layout : columns in their order, with headers and units.
    delimiter, decimal : between cells, and in numbers.
    about : comment lines in front.
    """
    rows = zip(*(getattr(twin, name) / size for name, (_, size) in layout.items()), strict=True)
    text = [f"# {line}" for line in about]
    text.append(delimiter.join(head for head, _ in layout.values()))
    text.extend(delimiter.join(f"{value:.5f}".replace(".", decimal) for value in row) for row in rows)
    return "\n".join(text) + "\n"


def table_text(run: DynoRun, *, delimiter: str = ",", decimal: str = ".", force_sign: float = 1.0) -> str:
    """A table of peak velocities and forces as a machine writes it, with what is known of the run above."""
    out = io.StringIO(newline="")
    out.write(f"# run: {run.name}\n")
    for adjuster, clicks in run.clicks.items():
        out.write(f"# clicks {adjuster}: {clicks}\n")
    if run.temperature is not None:
        out.write(f"# temperature: {celsius(kelvin=run.temperature):.1f} C\n")
    if run.gas_pressure is not None:
        out.write(f"# gas pressure: {run.gas_pressure / BAR:.2f} bar\n")
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerow(["Velocity (m/s)", "Force (N)"])
    for point in run.points:
        cells = (f"{point.velocity:.4f}", f"{force_sign * point.force:.2f}")
        writer.writerow([cell.replace(".", decimal) for cell in cells])
    return out.getvalue()
