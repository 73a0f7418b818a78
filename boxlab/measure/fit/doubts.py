"""What a ± holds and what it does not, and what the residuals of a fit give away."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from boxlab.measure.fit.least_squares import Fit

# Printed beside every ±. What it says is held to `tests/bench/coverage.csv`, the count of how often
# twice the ± held the true value of sweeps with such troubles.
PLUS_MINUS = (
    "Each ± is one standard uncertainty: twice it holds the true value some 19 times in 20, as far "
    "as scatter and the choice of circuit go. A suspension that creeps, a bump from a panel or the "
    "cone's edge, a test box that leaks and a wrong area are not in it: with one of them it may "
    "miss more often than not."
)


def troubles(fit: Fit) -> list[str]:
    """What the residuals of a `fit` say about the curve, in words.

    >>> from types import SimpleNamespace
    >>> troubles(SimpleNamespace(widened=1.2, wild=3))
    ['3 points lie far off (hum, a rattle?) and carry little weight.']
    """
    words = []
    if fit.widened > 1.6:
        words.append(
            "Neighbouring points are off to the same side: the circuit does not describe all of "
            "this curve (drift, a leak elsewhere, a panel), so the uncertainties were widened by "
            f"{fit.widened:.1f}."
        )
    if fit.wild:
        words.append(f"{fit.wild} points lie far off (hum, a rattle?) and carry little weight.")
    return words
