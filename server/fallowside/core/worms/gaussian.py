"""Normal distributions of a few dimensions, in plain floats."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

Vector = Sequence[float]
Matrix = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True)
class Gaussian:
    """A normal distribution by its mean and its precision, the inverse of its covariance."""

    mean: tuple[float, ...]
    precision: tuple[tuple[float, ...], ...]

    def log_density(self, point: Vector) -> float:
        """Give the logarithm of the density at a point, up to a constant."""
        offset = [one - middle for one, middle in zip(point, self.mean, strict=True)]
        total = 0.0
        for row, one in zip(self.precision, offset, strict=True):
            total += one * dot(row, offset)
        return -0.5 * total

    def pull(self, point: Vector) -> list[float]:
        """Give the slope of the log density at a point."""
        offset = [one - middle for one, middle in zip(point, self.mean, strict=True)]
        return [-dot(row, offset) for row in self.precision]

    def blurred(self, variances: Vector) -> "Gaussian":
        """Give the distribution after independent noise of these variances is added."""
        spread = inverse(self.precision)
        for at, variance in enumerate(variances):
            spread[at][at] += variance
        return Gaussian(self.mean, frozen(inverse(spread)))


def standard(size: int) -> Gaussian:
    """Give the standard normal distribution of so many dimensions."""
    return Gaussian((0.0,) * size, frozen(unit(size)))


def unit(size: int) -> list[list[float]]:
    """Give the unit matrix."""
    return [[1.0 if row == column else 0.0 for column in range(size)] for row in range(size)]


def frozen(matrix: Matrix) -> tuple[tuple[float, ...], ...]:
    """Give a matrix that can't change."""
    return tuple(tuple(row) for row in matrix)


def dot(first: Vector, second: Vector) -> float:
    """Give the inner product.

    >>> dot([1.0, 2.0], [3.0, 4.0])
    11.0
    """
    total = 0.0
    for one, two in zip(first, second, strict=True):
        total += one * two
    return total


def cholesky(matrix: Matrix) -> list[list[float]]:
    """Give the lower root of a positive definite matrix, of which the lower half is read.

    >>> cholesky([[4.0, 0.0], [2.0, 2.0]])
    [[2.0, 0.0], [1.0, 1.0]]
    """
    size = len(matrix)
    root = [[0.0] * size for _ in range(size)]
    for row in range(size):
        for column in range(row + 1):
            rest = matrix[row][column] - dot(root[row][:column], root[column][:column])
            root[row][column] = sqrt(rest) if row == column else rest / root[column][column]
    return root


def solve(root: Matrix, right: Vector) -> list[float]:
    """Solve (root root') x = right."""
    half = [0.0] * len(root)
    for row in range(len(root)):
        half[row] = (right[row] - dot(root[row][:row], half[:row])) / root[row][row]
    return _back(root, half)


def inverse(matrix: Matrix) -> list[list[float]]:
    """Invert a positive definite matrix.

    >>> inverse([[4.0, 0.0], [0.0, 16.0]])
    [[0.25, 0.0], [0.0, 0.0625]]
    """
    root = cholesky(matrix)
    rows = [solve(root, one) for one in unit(len(matrix))]
    for row in range(len(rows)):
        for column in range(row):
            rows[column][row] = rows[row][column]
    return rows


def spread_root(precision: Matrix) -> list[list[float]]:
    """Give a root of the covariance: the transposed inverse of the precision's lower root."""
    root = cholesky(precision)
    columns = [_back(root, one) for one in unit(len(root))]
    return [[column[row] for column in columns] for row in range(len(root))]


def _back(root: Matrix, right: Vector) -> list[float]:
    """Solve root' x = right."""
    size = len(root)
    found = [0.0] * size
    for row in reversed(range(size)):
        rest = right[row]
        for below in range(row + 1, size):
            rest -= root[below][row] * found[below]
        found[row] = rest / root[row][row]
    return found
