"""Memory that the steps of one curve share."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import PART

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Work(NamedTuple):
    """Memory of one curve's steps. Packs first, then nodes; ``gram`` and ``s`` are rows squared.

    Rows are the contact points and then their ties: ``ends`` says between which packs and where each acts,
    ``tie`` the row that goes with a point, ``live`` whether it does now, ``bonded`` which points press
    whatever their sign: see :mod:`damping_model.plates.ties`. ``on_plate`` lists, after their number, the
    known rows of each plate as twice the row plus its side.
    """

    diagonal: Floats
    coupling: Floats
    pull: Floats
    inverse: Floats
    inner: Floats
    load: Floats
    z: Floats
    d: Floats
    whole: Floats
    moved: Floats
    lead: Ints
    gram: Floats
    own: Floats
    s: Floats
    first: Ints
    pressing: Ints
    on_plate: Ints
    wrong: Ints
    excess: Floats
    gap: Floats
    x: Floats
    push: Floats
    reach: Floats
    dent: Floats
    begin: Ints
    ends: Ints
    tie: Ints
    live: Flags
    bonded: Flags
    flips: Ints
    learned: Flags


@PART
def work_space(packs: int, nodes: int, tie: Ints) -> Work:
    """Memory for stacks of so many packs, grid nodes and contact points with their ties."""
    points, blocks, shape = tie.size, (packs, nodes, 3, 3), (packs, nodes, 3)
    rows = points + int(np.sum(tie >= 0))
    columns, square = (rows, 2, nodes, 2), (rows, rows)
    return Work(
        np.empty(blocks), np.empty(blocks), np.empty(blocks), np.empty(blocks),
        np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape),
        np.empty(blocks), np.empty(columns), np.empty(packs, np.int64),
        np.zeros(square), np.empty(rows), np.empty(square),
        np.empty(rows, np.int64), np.empty(rows, np.int64), np.empty((packs, rows + 1), np.int64),
        np.empty(points, np.int64), np.empty(points), np.empty(rows), np.empty(rows), np.empty(rows),
        np.zeros((rows, 2, 4)), np.empty(rows), np.empty(rows, np.int64), np.empty((rows, 3), np.int64),
        tie, np.zeros(rows, np.bool_), np.zeros(points, np.bool_), np.zeros(points, np.int64),
        np.zeros(rows, np.bool_),
    )  # fmt: skip
