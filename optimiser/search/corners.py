"""The two stacks that bound a family: one that no member is softer than, one that none is stiffer than.

The model is monotone: force never falls when a plate is made stiffer, nor when a gap is made smaller, and a
shim is never made stiffer by being narrower while its gaps stay the same. So a shim that may be at several
places of equal gaps is put at the widest of them for the stiff end, at the narrowest for the soft one; and
a shim that may leave several is taken from the narrowest, or from the widest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from damping_model.packs import Pack, PackedStack
from damping_model.units import MICROMETRE
from optimiser.search.family import Family
from optimiser.search.shape import Shape, pack_of
from optimiser.search.sites import Figures, Patch, Span

FAINT = 1e-9
"""A pack left with a smaller share of its stiffness than this has none. [-]"""


@dataclass(slots=True)
class _Pile:
    """A pack in the making: stiffness, and the least and the most height."""

    bending: float
    stretching: float
    give: float
    low: float
    high: float

    def add(self, one: Figures, times: int) -> None:
        self.bending += times * one.bending
        self.stretching += times * one.stretching
        self.give += times * one.give

    def take(self, one: Figures, times: int) -> None:
        """Take shims of one type that are in it."""
        self.add(one, -times)
        if self.bending < FAINT * one.bending:
            self.bending = self.stretching = self.give = 0.0

    def take_some(self, bending: float, stretching: float) -> tuple[float, float]:
        """Take what there is of a stiffness; what is left to take. Shear falls as bending does."""
        if self.bending <= bending * (1 + FAINT):
            left = bending - self.bending, max(stretching - self.stretching, 0.0)
            self.bending = self.stretching = self.give = 0.0
            return left
        self.give *= 1 - bending / self.bending
        self.bending -= bending
        self.stretching = max(self.stretching - stretching, FAINT * self.stretching)
        return 0.0, 0.0

    def pack(self, outer: int, height: float) -> Pack:
        return pack_of(outer, Figures(self.bending, self.stretching, self.give, height))


class _Piles(dict[int, _Pile]):
    """Packs in the making, by slot; those that no patch touches stay as they are and are not in here."""

    def __init__(self, family: Family) -> None:
        super().__init__()
        self._slots, self._kept = family.shape.slots, family.shape.filled

    def __missing__(self, place: int) -> _Pile:
        one = self._slots[place].whole
        pile = self[place] = _Pile(one.bending, one.stretching, one.give, one.height, one.height)
        return pile

    @property
    def filled(self) -> list[int]:
        """Places of slots with shims kept in them or with a patch upon them."""
        return sorted(self.keys() | self._kept)

    def take_one_kind(self, patch: Patch, many: int) -> None:
        """Take shims of the one type at the one place that a patch is."""
        (span,) = patch.spans
        self[span.place].take(span.thin, many)
        self.take_heights(patch, many)

    def take_heights(self, patch: Patch, many: int) -> None:
        """Least and most height once shims have left."""
        for span in patch.spans:
            self[span.place].low -= many * span.thick.height
            if len(patch.spans) == 1:
                self[span.place].high -= many * span.thin.height


def stiffest(family: Family) -> PackedStack:
    """No member of a family gives more force than this stack."""
    shape, piles, opens_gap = family.shape, _Piles(family), family.opens_gap
    for patch, many in family.outs:
        if patch.single:
            piles.take_one_kind(patch, many)
            continue
        if len(_groups(family, patch, family.sure)) == 1:
            _take(piles, patch, many, [span.place for span in reversed(patch.spans)], thin=True)
        piles.take_heights(patch, many)
    for patch, many in family.ins:
        for spans in _groups(family, patch, family.sure):
            pile = piles[spans[0].place]
            pile.add(max((span.thick for span in spans), key=_stiffness), many)
            pile.high += many * max(span.thick.height for span in spans)
            if len(patch.spans) == 1:
                pile.low += many * spans[0].thin.height
    packs: list[Pack] = []
    rings = []
    thickness = 0.0
    for place in piles.filled:
        slot, touched = shape.slots[place], piles.get(place)
        if touched is None:
            pack = slot.pack
        else:
            # height without stiffness would hold off what lies behind it
            only_high = touched.bending > 0 and not opens_gap[place]
            pack = touched.pack(slot.outer, max(touched.high if only_high else touched.low, 0.0))
        if pack is None or not (pack.bending > 0 or pack.height > FAINT * MICROMETRE):
            continue
        if not packs and family.sure[place]:
            thickness = _least_first(family, place)
        if slot.ring is not None:
            rings.append(replace(slot.ring, centring=len(packs)))
        packs.append(pack)
    return replace(shape.pattern, packs=tuple(packs), rings=tuple(rings), face_thickness=thickness)


def softest(family: Family) -> PackedStack | None:
    """No member of a family gives less force than this stack; None when no face shim is sure to be there."""
    shape, piles = family.shape, _Piles(family)
    extra = [0.0] * shape.runs
    for patch, many in family.outs:
        if patch.single:
            piles.take_one_kind(patch, many)
            continue
        for spans in _groups(family, patch, family.there):
            _take(piles, patch, many, [span.place for span in spans], thin=False)
        piles.take_heights(patch, many)
    for patch, many in family.ins:
        if len(_groups(family, patch, family.there)) == 1:
            pile = piles[patch.spans[-1].place]
            pile.add(min((span.thin for span in patch.spans), key=_stiffness), many)
            pile.low += many * patch.thin
            pile.high += many * patch.thick
        else:
            for run in {shape.slots[s.place].run for s in patch.spans if family.opens_gap[s.place]}:
                extra[run] += many * patch.thick
    return _softly_stacked(family, piles, extra)


def _softly_stacked(family: Family, piles: _Piles, extra: list[float]) -> PackedStack | None:
    """What is sure to be there, with gaps as wide as they can be; ``extra`` height behind each run. [m]"""
    shape, opens_gap = family.shape, family.opens_gap
    packs: list[Pack] = []
    rings = []
    thickness = 0.0
    run = 0
    for place in piles.filled:
        slot, pile = shape.slots[place], piles.get(place)
        while run < slot.run:
            _spread(packs, extra[run], shape)
            run += 1
        low = slot.whole.height if pile is None else pile.low
        if family.sure[place] or (pile is not None and pile.bending > 0):
            if not packs:
                if slot.run > 0 or slot.outer < shape.least_face:
                    return None
                thickness = min(_most_first(family, place), max(low, 0.0))
            if slot.ring is not None:
                rings.append(replace(slot.ring, centring=len(packs)))
            if pile is None:
                assert slot.pack is not None  # noqa: S101
                packs.append(slot.pack)
            else:
                packs.append(pile.pack(slot.outer, max(pile.high if opens_gap[place] else low, 0.0)))
        elif pile is not None and opens_gap[place] and family.there[place]:
            extra[slot.run] += max(pile.high, 0.0)
    for behind in extra[run:]:
        _spread(packs, behind, shape)
    if not packs:
        return None
    return replace(shape.pattern, packs=tuple(packs), rings=tuple(rings), face_thickness=thickness)


def _spread(packs: list[Pack], height: float, shape: Shape) -> None:
    """Hold off what lies behind a run by a height."""
    if packs and height > 0:
        packs.append(Pack(shape.clamp_radius, 0.0, 0.0, 0.0, height))


def _groups(family: Family, patch: Patch, flags: tuple[bool, ...]) -> list[list[Span]]:
    """Slots of a patch by run and by how many packs of earlier runs hold them off, widest first in each."""
    if len(patch.spans) == 1:
        return [list(patch.spans)]
    slots = family.shape.slots
    held_off = family.shape.held_off(flags)
    kinds: dict[tuple[int, int], list[Span]] = {}
    for span in patch.spans:
        kinds.setdefault((slots[span.place].run, held_off[span.place]), []).append(span)
    return list(kinds.values())


def _take(piles: _Piles, patch: Patch, many: int, order: Sequence[int], *, thin: bool) -> None:
    """Take shims of a patch from one slot after another, each as stiff as the stiffest or the softest."""
    spans = [span for span in patch.spans if span.place in order]
    one = (
        min((span.thin for span in spans), key=_stiffness)
        if thin
        else max((span.thick for span in spans), key=_stiffness)
    )
    left = many * one.bending, many * one.stretching
    for place in order:
        left = piles[place].take_some(*left)


def _stiffness(one: Figures) -> tuple[float, float]:
    return one.bending, one.height


def _least_first(family: Family, place: int) -> float:
    """Least thickness of the shim on the piston's side of a slot that surely has one. [m]"""
    slot = family.shape.slots[place]
    may_go = sum(many for patch, many in family.outs if any(s.place == place for s in patch.spans))
    left = [one.height for one in slot.figures][may_go:]
    come = [p.spans[0].thin.height for p, _ in family.ins if len(p.spans) == 1 and p.spans[0].place == place]
    return max(left[:1] + come, default=0.0)


def _most_first(family: Family, place: int) -> float:
    """Most thickness of the shim on the piston's side of a slot. [m]"""
    here = [one.height for one in family.shape.slots[place].figures[:1]]
    come = [s.thick.height for p, _ in family.ins for s in p.spans if s.place == place]
    return max(here + come, default=0.0)
