"""What `builds_for_the_gap` says: its verdict, and each build by itself."""

from __future__ import annotations

from boxlab.base.units import to_cm, to_grams
from boxlab.explainers._depth_words import by_depth, condition, greatest
from boxlab.explainers._gaps import millimetres


def unknown(clearance, guessed):
    """Whether it hangs on a depth that nobody told; `guessed` has whose depth that is."""
    return any(by_depth(clearance, whose) for whose in guessed)


def suited(found, guessed=(), made_up=False):
    """The builds in which everything fits that is known of; none with a `made_up` radiator."""
    return [b for b in _asked(found, made_up) if all(c.fits or unknown(c, guessed) for c in b.fits)]


def _asked(found, made_up):
    return [b for b in found if b.box and not (made_up and b.kind == "radiator")]


def verdict_on(found, said, part, guessed=(), made_up=False):
    """Which builds fit, as the first sentence; of a depth that nobody told, with its condition.

    Parameters
    ----------
    found : of `compare_builds`
    said : the sentence for gear that is known
    part : outline of the driver
    guessed : of "driver" and "radiator", whose depth is taken from its size
    made_up : whether the radiator is; then nothing is said of it here
    """
    good = suited(found, guessed, made_up)
    if not good:
        return _none(_asked(found, made_up), guessed, said)
    if not guessed and not made_up:
        return said
    kinds = [b.kind for b in good]
    if "radiator" in guessed:
        kinds = [f"{k} (if no deeper than usual)" if k == "radiator" else k for k in kinds]
    names = " and ".join(filter(None, (", ".join(kinds[:-1]), kinds[-1])))
    these = f"{names[0].upper()}{names[1:]}" + (" fit" if len(kinds) > 1 else " fits")
    if "driver" not in guessed:
        return f"{these} this gap as asked."
    most = greatest(part, good[0].fits)
    if most <= 0:
        return "None of these fits this gap: there is no depth for any driver."
    return f"{these} if your driver is {condition(part, most)}"


def _none(built, guessed, said):
    """That none fits, with what is short by how much in the one that is nearest to it."""
    least = [
        min((c for c in b.fits if not unknown(c, guessed)), key=lambda c: c.spare) for b in built
    ]
    if not least:
        return said
    near = max(least, key=lambda c: c.spare)
    return f"{said.partition(':')[0]}: {near.what.partition(': ')[2]}, {millimetres(near)}."


def dashes(found, port, fb):
    """What the lines are, of the builds that there are lines of."""
    names = {
        "radiator": "solid: radiator", "ported": f"dashed: port of {port:g} mm",
        "sealed": "dotted: sealed",
    }  # fmt: skip
    kinds = {b.kind for b in found if b.box}
    told = "; ".join(words for kind, words in names.items() if kind in kinds)
    if not told:
        return ""
    vents = {2: "both vents ", 1: "the vent ", 0: ""}[len(kinds - {"sealed"})]
    return f"{told[0].upper()}{told[1:]}{f'; {vents}tuned to {fb:g} Hz' if vents else ''}. "


def _named(line, build, made_up):
    """A sentence on a build, with a word where its radiator is made up."""
    if build.kind != "radiator" or not made_up:
        return line
    what, _, rest = line.partition(":")
    return f"{what} (made up, as large as the driver's cone; the job has none):{rest}"


def headline(found, verdict, guessed=(), made_up=False):
    """What each that fits is best at, with its number; the verdict where fewer than two do.

    So is it where the verdict hangs on what nobody told.
    """
    built = suited(found, guessed, made_up)
    if len(built) < 2 or "driver" in guessed:
        return verdict
    low = min(built, key=lambda b: b.f3)
    loud = max(built, key=lambda b: b.average)
    sure = max(built, key=lambda b: b.weakest[1])
    best = {b.kind: [] for b in (low, loud, sure)}
    best[low.kind].append(f"goes lowest, to {low.f3:.0f} Hz")
    best[loud.kind].append(f"is loudest on average, {loud.average:.0f} dB")
    best[sure.kind].append(f"is loudest at its weakest note, {sure.weakest[1]:.0f} dB")
    parts = [f"the {kind} {' and '.join(said)}" for kind, said in best.items()]
    both = f"{verdict[:-1]}: t" if made_up else "T"
    return f"{both}{'; '.join(parts)[1:]}."


def readout(found, best, guessed, made_up):
    """The verdict, then each build by itself; `guessed` as in `verdict_on`."""
    lines = [best]
    for b in found:
        if b.box is None:
            lines.append(_named(b.words, b, made_up))
            continue
        f, spl, limit = b.weakest
        known = [c for c in b.fits if not unknown(c, guessed)]
        tightest = min(known, key=lambda c: c.spare)
        fit = (
            f"All of it fits, with {millimetres(tightest)} at the tightest."
            if tightest.fits and len(known) == len(b.fits)
            else f"But for the depth all of it fits, with {millimetres(tightest)} at the tightest."
            if tightest.fits
            else " ".join(c.sentence for c in known if not c.fits)
        )
        extra = ""
        if b.kind == "radiator":
            extra = f", {to_grams(b.added_mass):.0f} g of weights"
        elif b.kind == "ported":
            extra = f", port {to_cm(b.box.port.length):.0f} cm long"
        line = (
            f"{b.kind.capitalize()}: {1e3 * b.shares.net:.1f} L net{extra}; f3 {b.f3:.0f} Hz; "
            f"loudest {b.average:.0f} dB on average and {spl:.0f} dB at {f:.0f} Hz, its weakest, "
            f"where {limit} stops it. {fit}"
        )
        lines.append(_named(line, b, made_up))
    return tuple(lines)
