"""Memory that the Newton steps of one lift curve share."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import PART

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Workspace(NamedTuple):
    """Arrays of one curve's steps.

    Rows are the contact points and then their ties, see :mod:`damping_model.plates.ties`. Shapes are (packs,
    nodes, ...) where nothing else is said.

    Parameters
    ----------
    diagonal, coupling : tangent of each plate as 3x3 blocks (packs, nodes, 3, 3).
    lower, pivot_inverse : its block factors (packs, nodes, 3, 3).
    inverse_blocks : diagonal blocks of its inverse (packs, nodes, 3, 3).
    inner : inner forces (packs, nodes, 3).
    residual : loads that the inner forces do not balance (packs, nodes, 3).
    free, d : displacements by the residual alone, and with contact (packs, nodes, 3).
    unit_response : lift and rotation of a row's lower and upper pack by a unit force (rows, 2, nodes, 2).
    place : of each row where every tie follows its point (rows,).
    compliance : opening of the row at a place by a unit force so many places before (rows, width). [m rad/N]
    least_compliance : opening of a row by its own unit force, on the stiffer of its two packs (rows,).
    cholesky : Cholesky factor of the active rows' compliance, its diagonal inverted; the element at row a and
        column k is at (a + 1) (width - 1) + k.
    envelope : first column of the factor that is not zero (rows,).
    active_rows : the rows that press, first to last (rows,).
    first_of_pack : place of the first active row on each pack (packs,).
    rows_of_plate : number of assembled rows of a plate, and then each as twice the row plus its side.
    assembled : whether the row's column of the compliance is known (rows,).
    x : forces of the active rows that close their gaps, in order of ``active_rows``. [N/rad]
    row_force : forces of the active rows that act already, likewise. [N/rad]
    violated, violation : contact points that break the contact conditions, and by how much. [-, m]
    gap : opening of each row before the step. [m]
    gradient : change of a row's opening with lift and rotation at the node before and at the node itself,
        of the lower and the upper pack (rows, 2, 4).
    row_compliance : indentation of the faces by a unit force (rows,). [m rad/N]
    first_node : first node that the row's force acts on (rows,).
    ends : lower pack, upper pack and node of each row (rows, 3).
    tie : row that goes with a point, -1 for none (points,).
    live : whether a tie acts now (rows,).
    bonded : points that press whatever the sign of their force (points,).
    force_slope : change of each contact point's force with pressure at the last equilibrium (points,).
        [N/(rad Pa)]
    flips : how often the length of a wedge has reached or left its most (points,).
    """

    diagonal: Floats
    coupling: Floats
    lower: Floats
    pivot_inverse: Floats
    inverse_blocks: Floats
    inner: Floats
    residual: Floats
    free: Floats
    d: Floats
    unit_response: Floats
    place: Ints
    compliance: Floats
    least_compliance: Floats
    cholesky: Floats
    envelope: Ints
    active_rows: Ints
    first_of_pack: Ints
    rows_of_plate: Ints
    assembled: Flags
    x: Floats
    row_force: Floats
    violated: Ints
    violation: Floats
    gap: Floats
    gradient: Floats
    row_compliance: Floats
    first_node: Ints
    ends: Ints
    tie: Ints
    live: Flags
    bonded: Flags
    force_slope: Floats
    flips: Ints


@PART
def row_places(packs: int, ends: Ints, tie: Ints, rows: int) -> tuple[Ints, int]:
    """Place of each row where every tie follows its point, and how wide a band of places meets on a plate.

    Two rows are factored at a time, so one more column is there than the first of them reaches.
    """
    place, first, width, made = np.empty(rows, np.int64), np.full(packs, rows), 1, 0
    for c in range(tie.size):
        for part in range(2 if tie[c] >= 0 else 1):
            for side in range(2):
                plate = ends[c, side]
                if plate >= 0:
                    first[plate] = min(first[plate], made)
                    width = max(width, made - first[plate] + 1)
            place[tie[c] if part else c] = made
            made += 1
    return place, width + 1


@PART
def workspace(packs: int, nodes: int, ends: Ints, tie: Ints) -> Workspace:
    """Memory for so many packs and grid nodes, with contact points between ``ends`` and their ties."""
    points, blocks, shape = tie.size, (packs, nodes, 3, 3), (packs, nodes, 3)
    rows = points + int(np.sum(tie >= 0))
    place, width = row_places(packs, ends, tie, rows)
    return Workspace(
        diagonal=np.empty(blocks),
        coupling=np.empty(blocks),
        lower=np.empty(blocks),
        pivot_inverse=np.empty(blocks),
        inverse_blocks=np.empty(blocks),
        inner=np.zeros(shape),
        residual=np.zeros(shape),
        free=np.zeros(shape),
        d=np.zeros(shape),
        unit_response=np.empty((rows, 2, nodes, 2)),
        place=place,
        compliance=np.zeros((rows, width)),
        least_compliance=np.empty(rows),
        cholesky=np.empty((rows + 2) * width),
        envelope=np.empty(rows, np.int64),
        active_rows=np.empty(rows, np.int64),
        first_of_pack=np.empty(packs, np.int64),
        rows_of_plate=np.empty((packs, rows + 1), np.int64),
        assembled=np.zeros(rows, np.bool_),
        x=np.empty(rows),
        row_force=np.empty(rows),
        violated=np.empty(points, np.int64),
        violation=np.empty(points),
        gap=np.empty(rows),
        gradient=np.zeros((rows, 2, 4)),
        row_compliance=np.empty(rows),
        first_node=np.empty(rows, np.int64),
        ends=np.empty((rows, 3), np.int64),
        tie=tie,
        live=np.zeros(rows, np.bool_),
        bonded=np.zeros(points, np.bool_),
        force_slope=np.zeros(points),
        flips=np.zeros(points, np.int64),
    )
