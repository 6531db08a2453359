"""Many small positive definite systems at once, and Newton steps that stay inside: arrays with the trials last."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def cholesky(matrix: Array) -> Array:
    """Lower triangles L with L L^T = matrix, for positive definite matrices of shape (m, m, N)."""
    size = len(matrix)
    lower = np.zeros_like(matrix)
    for j in range(size):
        square = matrix[j, j] - np.square(lower[j, :j]).sum(axis=0)
        lower[j, j] = np.sqrt(np.maximum(square, 1e-300))
        for i in range(j + 1, size):
            lower[i, j] = (matrix[i, j] - (lower[i, :j] * lower[j, :j]).sum(axis=0)) / lower[j, j]
    return lower


def forward(lower: Array, right: Array) -> Array:
    """x with L x = right, shapes (m, m, N) and (m, N)."""
    x = np.empty_like(right)
    for i in range(len(right)):
        x[i] = (right[i] - (lower[i, :i] * x[:i]).sum(axis=0)) / lower[i, i]
    return x


def backward(lower: Array, right: Array) -> Array:
    """x with L^T x = right."""
    x = np.empty_like(right)
    for i in reversed(range(len(right))):
        x[i] = (right[i] - (lower[i + 1 :, i] * x[i + 1 :]).sum(axis=0)) / lower[i, i]
    return x


def newton_step(gradient: Array, hessian: Array) -> tuple[Array, Array]:
    """A Newton step of a self-concordant function, damped so that it stays inside, and its decrement.

    The step is the full one divided by 1 + decrement, which keeps within the Dikin ellipsoid (Yu. Nesterov and
    A. Nemirovskii, *Interior-Point Polynomial Algorithms in Convex Programming*, SIAM 1994, section 2.2; from memory).
    Shapes (m, N) and (m, m, N); the step has shape (m, N), the decrement (N,).
    """
    lower = cholesky(hessian)
    half = forward(lower, -gradient)
    decrement = np.sqrt(np.square(half).sum(axis=0))
    return backward(lower, half) / (1.0 + decrement), decrement
