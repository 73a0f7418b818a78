"""Cable resistance against published tables; voltage drop; fuse mistakes refused."""

import pytest

from boxlab.base.checks import UnitWarning
from boxlab.car import cable as c

# A public AWG table: diameter mm, Ω/km at 20 °C (two decimals).
AWG_TABLE = {
    "4/0": (11.6840, 0.16), "2/0": (9.2659, 0.26), 0: (8.2525, 0.32), 2: (6.5430, 0.51),
    4: (5.1892, 0.82), 6: (4.1148, 1.30), 8: (3.2639, 2.06), 10: (2.5883, 3.28),
    12: (2.0523, 5.21), 14: (1.6281, 8.28), 16: (1.2903, 13.17), 18: (1.0236, 20.94),
}  # fmt: skip


@pytest.mark.parametrize(("gauge", "printed"), AWG_TABLE.items())
def test_awg_table(gauge, printed):
    diameter, per_km = printed
    assert c.awg_diameter(gauge) * 1e3 == pytest.approx(diameter, abs=1.5e-3)
    ours = c.resistance_per_metre(c.awg_area(gauge)) * 1e3
    assert ours == pytest.approx(per_km, abs=0.005 + 5e-4 * per_km)


def test_awg_defining_sizes():
    # ASTM B258: No. 36 is 0.005 in and No. 0000 is 0.46 in, with 38 sizes between (from memory).
    assert c.awg_diameter(36) == pytest.approx(0.005 * 0.0254)
    assert c.awg_diameter("4/0") == pytest.approx(0.46 * 0.0254)
    assert c.awg_diameter("0000") == c.awg_diameter("4/0")
    assert c.awg_area(10) / c.awg_area(13) == pytest.approx(2, rel=0.01)  # three sizes halve it


def test_metric_table_is_no_better_than_copper():
    # IEC 60228 sets an upper limit, so it must lie above solid copper of the nominal area, within
    # the allowance for stranding (the 95 mm² row is 7 % up, the small sizes 13 %).
    for cable in c.metric_cables():
        assert 1.0 < cable.per_metre / (c.COPPER / cable.area) < 1.16, cable.label


def test_voltage_drop_by_hand():
    # 50 A through 2 · 5 m of 1.21 mΩ/m.
    cable = next(k for k in c.metric_cables() if k.label == "16 mm²")
    assert cable.drop(50, 5) == pytest.approx(50 * 10 * 1.21e-3)
    assert cable.drop(50, 5, return_per_metre=0) == pytest.approx(50 * 5 * 1.21e-3)
    assert cable.drop(50, 5, temperature=80) == pytest.approx(50 * 10 * 1.21e-3 * 1.2358)


def test_by_drop_it_is_the_thinnest_that_does():
    chosen = c.cable_by_drop(40, 5, drop=0.5)
    thinner = c.awg_cables()[[k.label for k in c.awg_cables()].index(chosen.label) - 1]
    assert chosen.drop(40, 5) <= 0.5 < thinner.drop(40, 5)
    assert c.cable_by_drop(40, 5, 0.5, c.metric_cables()).label == "16 mm²"


def test_supply_current():
    assert c.supply_current(350, 13.8, 0.75) == pytest.approx(33.816, abs=1e-3)


def test_fuse_advice():
    notes = c.check_fuse(50, 60, current=34, distance=1.2)
    assert notes[0].startswith("1200 mm of cable has no fuse")
    assert any("licensed" in note for note in notes)
    assert len(c.check_fuse(50, 60, current=34, distance=0.15)) == 2
    assert c.choose_fuse(34, 60, (20, 30, 40, 50, 80)) == 40


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: c.check_fuse(80, 60), "above the cable's rating"),
        (lambda: c.check_fuse(30, 60, current=34), "open in use"),
        (lambda: c.choose_fuse(55, 60, (50, 80)), "higher rating"),
        (lambda: c.cable_by_drop(500, 10, 0.1), "side by side"),
        (lambda: c.awg_diameter("5/0"), "not an AWG size"),
        (lambda: c.awg_diameter("16 mm2"), "not an AWG size"),
        (lambda: c.supply_current(100, 12, 75), "output over input"),
        (lambda: c.supply_current(100, 0), "above zero"),
        (lambda: c.check_fuse(50, None), "not a number"),
    ],
)
def test_bad_input_says_what_to_do(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_square_millimetres_are_suspected():
    with pytest.warns(UnitWarning, match="16e-6"):
        c.resistance_per_metre(16)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: c.supply_current(500, 138), r"13\.8, not 138"),
        (lambda: c.supply_current(500, 0.0138), "Give volts"),
        (lambda: c.supply_current(500, 13.8, 0.0075), "output over input"),
        (lambda: c.supply_current(5e5, 13.8), "Give watts"),
        (lambda: c.check_fuse(50, 60, distance=450), "450 mm is 0.45"),
        (lambda: c.Cable("16 mm²", 16e-6, 1.21).drop(50, 5), "Ω for one metre"),
    ],
)
def test_a_slip_in_a_unit_is_doubted(call, words):
    with pytest.warns(UnitWarning, match=words):
        call()
