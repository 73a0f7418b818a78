"""Panel resonance against finite differences."""

import numpy as np
import pytest

from boxlab.car.bracing import BIRCH_PLYWOOD, FIBRE_BOARD, Material, braced_mode, panel_mode

SIZES = (0.6, 0.35, 0.018)


def finite_differences(a, b, t, board, clamped, n=36):
    """First resonance from the plate equation on a grid, in Hz."""

    def second(step, m):
        return (np.eye(m, k=1) + np.eye(m, k=-1) - 2 * np.eye(m)) / step**2

    def fourth(step, m):
        d = np.diag(np.full(m, 6.0))
        for k, c in ((1, -4.0), (2, 1.0)):
            d += c * (np.eye(m, k=k) + np.eye(m, k=-k))
        # The ghost point past the edge mirrors the inside: same sign clamped, opposite hinged.
        d[0, 0] = d[-1, -1] = 7.0 if clamped else 5.0
        return d / step**4

    ha, hb = a / n, b / n
    m, eye = n - 1, np.eye(n - 1)
    operator = (
        np.kron(fourth(ha, m), eye)
        + np.kron(eye, fourth(hb, m))
        + 2 * np.kron(second(ha, m), second(hb, m))
    )
    bending = board.modulus * t**3 / (12 * (1 - board.poisson**2))
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import eigsh

    least = eigsh(csc_matrix(operator), k=1, sigma=0, return_eigenvectors=False)[0]
    return np.sqrt(least * bending / (board.density * t)) / (2 * np.pi)


def test_hinged_panel():
    expected = finite_differences(*SIZES, FIBRE_BOARD, clamped=False)
    assert panel_mode(*SIZES) == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize("sizes", [SIZES, (0.4, 0.4, 0.012)])
def test_clamped_panel_is_a_close_upper_bound(sizes):
    expected = finite_differences(*sizes, BIRCH_PLYWOOD, clamped=True)
    got = panel_mode(*sizes, BIRCH_PLYWOOD, fixed=True)
    assert expected * 0.99 < got < 1.05 * expected


def test_clamped_square_against_the_table():
    # Leissa, NASA SP-160 (from memory): ω·a²·√(ρt/D) = 35.99 for a clamped square.
    board = Material(12 * (1 - 0.3**2), 1.0)  # D = t³, so that √(ρt/D) = 1/t
    got = panel_mode(1.0, 1.0, 0.01, board, fixed=True) * 2 * np.pi / 0.01
    assert 35.99 < got < 35.99 * 1.05


def test_a_brace_raises_the_first_mode():
    bare, braced = panel_mode(*SIZES), braced_mode(*SIZES)
    assert braced == pytest.approx(panel_mode(0.3, 0.35, 0.018))
    assert braced > 1.7 * bare
    assert braced_mode(0.35, 0.6, 0.018, 2) == pytest.approx(panel_mode(0.2, 0.35, 0.018))


def test_bad_input_says_what_to_do():
    with pytest.raises(ValueError, match="width must be above zero"):
        panel_mode(0.4, 0, 0.018)
    with pytest.raises(ValueError, match="braces"):
        braced_mode(0.4, 0.3, 0.018, 0)
