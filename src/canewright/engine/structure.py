"""Do the equations and unknowns match? If not, which of them are too many or too few, by name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import breadth_first_order, maximum_bipartite_matching

from canewright.engine.model import Law, Model, Variable


@dataclass(frozen=True)
class Imbalance:
    """Equations that say too much and unknowns that nothing determines (a Dulmage-Mendelsohn decomposition)."""

    surplus_laws: tuple[Law, ...]
    loose_unknowns: tuple[Variable, ...]
    overdetermined: tuple[Law, ...]
    underdetermined: tuple[Variable, ...]

    @property
    def fine(self) -> bool:
        """Whether every unknown has its own equation."""
        return not self.surplus_laws and not self.loose_unknowns


def structural_imbalance(model: Model) -> Imbalance:
    """Match equations to unknowns by structure alone and name what is left over on either side."""
    pattern = model.residual_and_jacobian.sparsity_out(1)
    incidence = sparse.csr_matrix(
        sparse.csc_matrix(
            (np.ones(pattern.nnz()), np.array(pattern.row()), np.array(pattern.colind())), shape=pattern.shape
        )[:, : model.n]
    )
    unknown_of = maximum_bipartite_matching(incidence, perm_type="column")  # by equation, -1 where unmatched
    law_of = np.full(model.n, -1)
    matched = np.flatnonzero(unknown_of >= 0)
    law_of[unknown_of[matched]] = matched
    loose_laws = [int(i) for i in np.flatnonzero(unknown_of < 0)]
    loose_unknowns = [int(j) for j in np.flatnonzero(law_of < 0)]
    over = _reach(incidence, unknown_of, loose_laws)
    under = _reach(sparse.csr_matrix(incidence.T), law_of, loose_unknowns)
    return Imbalance(
        tuple(model.laws[i] for i in loose_laws),
        tuple(model.unknowns[j] for j in loose_unknowns),
        tuple(model.laws[i] for i in over),
        tuple(model.unknowns[j] for j in under),
    )


def _reach(incidence: sparse.csr_matrix, partner: np.ndarray, start: list[int]) -> list[int]:
    """Rows reachable from the start rows along alternating paths: the part that is over- (or under-) determined."""
    rows, columns = incidence.shape
    row_of = np.full(columns, -1)
    row_of[partner[partner >= 0]] = np.flatnonzero(partner >= 0)
    coo = incidence.tocoo()
    keep = row_of[coo.col] >= 0
    graph = sparse.csr_matrix((np.ones(int(keep.sum())), (coo.row[keep], row_of[coo.col[keep]])), shape=(rows, rows))
    found: set[int] = set()
    for i in start:
        if i not in found:
            found.update(int(k) for k in breadth_first_order(graph, i, return_predecessors=False))
    return sorted(found)
