"""The rim of a skin, walked in even steps."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .rows import row_norms
from .topology import border_chains


@dataclass(frozen=True)
class RimSamples:
    """Middles of short steps along a rim, in walking order.

    Attributes
    ----------
    points_mm
        ``(s, 3)`` middles of the steps.
    lengths_mm
        ``(s,)`` lengths of the steps.
    chain
        ``(s,)`` which chain of the rim each step is on.
    closed
        ``(chains,)`` whether each chain is a loop.
    edge
        ``(s, 2)`` the vertices of the rim edge each step is on.
    """

    points_mm: FloatArray
    lengths_mm: FloatArray
    chain: IntArray
    closed: BoolArray
    edge: IntArray


def walk_rim(vertices_mm: FloatArray, edges: IntArray, step_mm: float) -> RimSamples:
    """Cut a rim of directed edges ``(r, 2)`` into steps no longer than ``step_mm``, chain by chain."""
    chains = border_chains(edges)
    ends = [np.stack([chain[:-1], chain[1:]], axis=1) for chain in chains]
    edge = np.concatenate(ends) if ends else np.zeros((0, 2), np.int64)
    chain = np.repeat(np.arange(len(chains)), [len(pairs) for pairs in ends])
    start, end = vertices_mm[edge[:, 0]], vertices_mm[edge[:, 1]]
    length = row_norms(end - start)
    parts = np.maximum(np.ceil(length / step_mm), 1).astype(np.int64)
    owner = np.repeat(np.arange(len(edge)), parts)
    place = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = ((place + 0.5) / parts[owner])[:, None]
    return RimSamples(
        points_mm=start[owner] * (1.0 - share) + end[owner] * share,
        lengths_mm=(length / parts)[owner],
        chain=chain[owner],
        closed=np.array([walk[0] == walk[-1] for walk in chains], dtype=bool),
        edge=edge[owner],
    )


def spans(over: BoolArray, samples: RimSamples, bridge_mm: float) -> list[IntArray]:
    """Return runs of consecutive marked steps as index arrays; gaps up to ``bridge_mm`` do not part a run.

    A run that crosses the first step of a closed chain is one run.
    """
    runs: list[IntArray] = []
    for chain in np.unique(samples.chain[over]):
        own = np.flatnonzero(samples.chain == chain)
        runs.extend(_spans_of_chain(own, over[own], samples, bool(samples.closed[chain]), bridge_mm))
    return runs


def _spans_of_chain(
    own: IntArray, over: BoolArray, samples: RimSamples, closed: bool, bridge_mm: float
) -> list[IntArray]:
    marked = np.flatnonzero(over)
    walked = np.cumsum(samples.lengths_mm[own])
    between = walked[marked[1:]] - walked[marked[:-1]] - samples.lengths_mm[own[marked[1:]]]
    runs = [own[run] for run in np.split(marked, np.flatnonzero(between > bridge_mm) + 1)]
    around = walked[-1] - walked[marked[-1]] + walked[marked[0]] - samples.lengths_mm[own[marked[0]]]
    if closed and len(runs) > 1 and around <= bridge_mm:
        runs[0] = np.concatenate([runs.pop(), runs[0]])
    return runs


def weighted_quantile(values: FloatArray, weights: FloatArray, share: float) -> float:
    """Return the value below which ``share`` of the weight lies; nan for no values."""
    if not len(values):
        return float("nan")
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    place = np.searchsorted(reached, share * reached[-1])
    return float(values[order][min(place, len(order) - 1)])
