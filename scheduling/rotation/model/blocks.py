"""Rows of the model, block by block, and the matrix that they make together."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from scheduling.rules.rows import IntArray


@dataclass(frozen=True)
class Block:
    """Rows lower ≤ A z ≤ upper by their entries: row within the block, column, weight."""

    row: IntArray
    column: IntArray
    weight: IntArray
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]


def stacked(
    blocks: list[Block], columns: int
) -> tuple[sparse.csr_matrix, NDArray[np.float64], NDArray[np.float64]]:
    """The matrix, shape (rows, columns), with the lower and upper bound of each row."""
    starts = np.cumsum([0] + [len(block.upper) for block in blocks])
    row = np.concatenate([b.row + start for b, start in zip(blocks, starts, strict=False)])
    matrix = sparse.csr_matrix(
        (
            np.concatenate([block.weight for block in blocks]),
            (row, np.concatenate([block.column for block in blocks])),
        ),
        shape=(int(starts[-1]), columns),
    )
    lower = np.concatenate([block.lower for block in blocks])
    return matrix, lower, np.concatenate([block.upper for block in blocks])
