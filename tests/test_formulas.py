"""The formula sheet is what the docstrings say, and what they say is what the library computes."""

import math
import re

import numpy as np
import pytest

from boxlab.base.units import cm2, litres
from boxlab.car import restraint, vehicle
from boxlab.car.cable import Cable, awg_area, supply_current
from boxlab.design import swept_volume
from boxlab.gear.scenario import TEN_INCH_DRIVER as DRIVER
from boxlab.gear.scenario import TEN_INCH_RADIATOR as RADIATOR
from boxlab.model.air import Air, standard_pressure
from boxlab.model.enclosure import PortedBox, RadiatorBox
from boxlab.model.filters import HighPass, Peak
from boxlab.model.losses import total_q, vent_q, with_vent_q
from boxlab.model.mixed_radiators import coupled_tunings
from boxlab.model.motion import phase_at_tuning
from boxlab.model.passband import passband
from boxlab.model.port_ends import cone_length, corner_cut
from boxlab.model.port_loss import port_q
from boxlab.model.power_stage import PowerStage, Supply
from boxlab.model.response import solve
from boxlab.model.several import between, isobaric, together
from boxlab.model.vents import end_correction_of
from boxlab.model.warm_coil import lost_midband, settled_alone
from boxlab.publish import formulas
from boxlab.sound import hearing

PLACES = [place for places in formulas.SHEET.values() for place in places]


def python(formula):
    """The right side of a printed formula, as Python."""
    text = formula.partition(" = ")[2]
    text = re.sub(r"\|([^|]*)\|", r"abs(\1)", text)
    for sign, word in (("·", "*"), ("√", "sqrt"), ("²", "**2"), ("³", "**3"), ("−", "-"),
                       ("^", "**"), ("π", "pi")):  # fmt: skip
        text = text.replace(sign, word)
    return text


def worked(place, **letters):
    """The formula of `place` worked out as it is printed."""
    known = {"sqrt": np.sqrt, "pi": math.pi, "exp": np.exp, "log10": np.log10, "atan": math.atan}
    known |= {"real": np.real, "abs": abs, "j": 1j}
    return eval(python(formulas.entry(place).formula), {"__builtins__": {}}, known | letters)


AIR = Air()
AIRY = {"ρ": AIR.density, "c": AIR.speed_of_sound}
D = {
    "Mms": DRIVER.mms, "Cms": DRIVER.cms, "Rms": DRIVER.rms, "Re": DRIVER.re, "Bl": DRIVER.bl,
    "Sd": DRIVER.sd, "Xmax": DRIVER.xmax, "fs": DRIVER.fs, "ωs": 2 * math.pi * DRIVER.fs,
    "Qes": DRIVER.qes, "Qms": DRIVER.qms, "Vas": DRIVER.vas(AIR), **AIRY,
}  # fmt: skip
BOX = RadiatorBox.tuned(litres(14), 36, RADIATOR, count=2, ql=7)
LOADED = BOX.radiator
PORTED = PortedBox.tuned(litres(30), 38, cm2(40), count=2, ql=7, max_length=3)
VENT = {
    "Mmp": LOADED.moving_mass, "Cmp": LOADED.cms, "Sp": LOADED.sd, "n": 2, "V": litres(14),
    "fp": LOADED.fp, "ωb": 2 * math.pi * 36, "C_AB": BOX.compliance(AIR),
    "C_AP": 2 * LOADED.sd**2 * LOADED.cms, "QL": 7, **AIRY,
}  # fmt: skip
PORT = {
    "S": cm2(40), "L": PORTED.port.length, "ends": PORTED.port.end_correction, "n": 2,
    "V": litres(30), "ωb": 2 * math.pi * 38, **AIRY,
}  # fmt: skip
FOUND = passband(DRIVER, PORTED)
F = np.array([20.0, 55.0])
R = solve(DRIVER, PORTED, F, voltage=10, distance=2)
SOLVED = {
    "ω": 2 * math.pi * F, "U0": R.volume_velocity, "k": 2 * math.pi * F / AIR.speed_of_sound,
    "r": 2, "p": R.pressure, "p0": 20e-6, "v": R.cone_velocity, "I": R.current, "Z": R.impedance,
    "U_port": R.vent_volume_velocity, "S": cm2(40), "n": 2, **AIRY,
}  # fmt: skip
CABLE = Cable("8 AWG", awg_area(8), 2e-3)
FRICTION = 2 * math.pi * 36 * BOX.compliance(AIR) * LOADED.rms / (2 * LOADED.sd**2)

# place -> (what the library returns, the letters of its formula)
CASES = {
    "model.driver.Driver.fs": (DRIVER.fs, D),
    "model.driver.Driver.qes": (DRIVER.qes, D),
    "model.driver.Driver.qms": (DRIVER.qms, D),
    "model.driver.Driver.qts": (DRIVER.qts, D),
    "model.driver.Driver.vas": (DRIVER.vas(AIR), D),
    "model.driver.Driver.vd": (DRIVER.vd, D),
    "model.driver.Driver.reference_efficiency": (DRIVER.reference_efficiency(AIR), D),
    "model.several.together": (together(DRIVER, 3).vas(AIR), D | {"n": 3}),
    "model.several.isobaric": (isobaric(DRIVER).vas(AIR), D),
    "model.several.between": (between(DRIVER, litres(2), AIR), D | {"V": litres(2)}),
    "model.mixed_radiators.coupled_tunings": (
        coupled_tunings(41, 29, 19, 13)[1],
        {"f1": 41, "f2": 29, "fp1": 19, "fp2": 13},
    ),
    "model.warm_coil.lost_midband": (lost_midband(130), {"α": 0.00393, "ΔT": 130}),
    "model.warm_coil.settled_alone": (
        settled_alone(90, 1.7),
        {"α": 0.00393, "R_th": 1.7, "P0": 90},
    ),
    "model.port_ends.corner_cut": (corner_cut(0.035), {"height": 0.035}),
    "model.port_ends.cone_length": (
        cone_length(0.08, 0.13, 0.06),
        {"run": 0.06, "d": 0.08, "d_mouth": 0.13},
    ),
    "model.port_loss.port_q": (port_q(PORTED.port, 38, 14, 1.2), PORT | {"K": 1.2, "u": 14}),
    "model.air.standard_pressure": (standard_pressure(1800.0), {"height": 1800}),
    "model.vents.end_correction_of": (end_correction_of(cm2(40)), PORT),
    "model.enclosure.PortedBox.tuned": (PORTED.port.length, PORT),
    "model.vents.Port.first_pipe_resonance": (PORTED.port.first_pipe_resonance(AIR), PORT),
    "model.radiator.Radiator.fp": (LOADED.fp, VENT),
    "model.radiator.Radiator.vap": (LOADED.vap(AIR), VENT),
    "model.enclosure.RadiatorBox.tuned": (LOADED.moving_mass, VENT),
    "model.enclosure.RadiatorBox.tuning": (BOX.tuning(AIR), VENT),
    "model.enclosure.PortedBox.leak_conductance": (BOX.leak_conductance(AIR), VENT),
    "model.enclosure.PortedBox.absorption": (
        RadiatorBox.tuned(litres(14), 36, RADIATOR, count=2, qa=55).absorption(AIR),
        VENT | {"QA": 55},
    ),
    "model.losses.vent_q": (
        vent_q(BOX, AIR),
        VENT | {"R_P": LOADED.rms / (2 * LOADED.sd**2)},
    ),
    "model.losses.with_vent_q": (with_vent_q(BOX, 31, AIR).radiator.rms, VENT | {"QR": 31}),
    "model.losses.total_q": (
        total_q(PortedBox.tuned(litres(30), 38, cm2(40), ql=7, qa=55, qp=31, max_length=3), AIR),
        {"QL": 7, "QA": 55, "QR": 31},
    ),
    "model.motion.phase_at_tuning": (phase_at_tuning(DRIVER, BOX), VENT | {"QR": 1 / FRICTION}),
    "model.response.Response.pressure": (R.pressure, SOLVED),
    "model.response.Response.spl": (R.spl, SOLVED),
    "model.response.Response.cone_excursion": (R.cone_excursion, SOLVED),
    "model.response.Response.vent_air_speed": (R.vent_air_speed, SOLVED),
    "model.response.Response.power": (R.power, SOLVED),
    "model.passband.efficiency_constant": (
        FOUND.constant,
        {"η0": FOUND.efficiency, "f3": FOUND.f3, "Vb": litres(30)},
    ),
    "design.swept_volume.swept_volume": (
        swept_volume.swept_volume(30.0, 94.0, 2.0, AIR),
        {"ω": 2 * math.pi * 30, "p": 20e-6 * 10 ** (94 / 20), "r": 2, **AIRY},
    ),
    "model.filters.HighPass": (np.abs(HighPass(31, 3).response(F)), {"f0": 31, "f": F, "n": 3}),
    "model.filters.Peak": (
        Peak(31, 5, 1.3).response(F),
        {"y": F / 31, "A": 10 ** (5 / 40), "Q": 1.3},
    ),
    "model.power_stage.Supply.under": (
        Supply(13.8, 0.02).under(600),
        {"V0": 13.8, "R_S": 0.02, "P": 600},
    ),
    "model.power_stage.PowerStage.supply_voltage": (
        PowerStage(40, supply=Supply(13.2, 0.02), efficiency=0.8).supply_voltage(0.2),
        {"V0": 13.2, "R_S": 0.02, "E": 40 / math.sqrt(2) / 13.8, "G": 0.2, "η": 0.8},
    ),
    "car.vehicle.Cabin.modes": (
        vehicle.Cabin(2.5, 1.4, 1.1).modes(1)[0][0],
        {"l": 1, "w": 0, "h": 0, "L": 2.5, "W": 1.4, "H": 1.1, **AIRY},
    ),
    "car.vehicle.pressure_lift": (
        vehicle.pressure_lift(F, 3.0, 2.0, 6.0, 0.3, AIR),
        {"ω": 2 * math.pi * F, "V": 3, "r": 2, "ω_leak": 2 * math.pi * 6, "give": 0.3, **AIRY},
    ),
    "car.cable.supply_current": (supply_current(300, 13.8, 0.8), {"P": 300, "V": 13.8, "η": 0.8}),
    "car.cable.Cable.drop": (
        CABLE.drop(40, 5, 1e-3),
        {"I": 40, "l": 5, "R_out": 2e-3, "R_back": 1e-3},
    ),
    "car.restraint.mean_deceleration": (restraint.mean_deceleration(14, 0.6), {"v": 14, "s": 0.6}),
    "sound.hearing.allowed_time": (
        hearing.allowed_time(97) / 3600,
        {"T0": 8, "L": 97, "L0": 85, "q": 3},
    ),
}


def test_every_line_of_the_sheet_is_worked_out():
    assert set(CASES) == set(PLACES)


@pytest.mark.parametrize("place", PLACES)
def test_a_printed_formula_gives_what_the_library_gives(place):
    returned, letters = CASES[place]
    # 1.4615 is printed to five digits
    np.testing.assert_allclose(worked(place, **letters), returned, rtol=2e-5)


UNITS = {
    "seconds": "s", "hours": "h", "degrees": "°", "Hz": "Hz", "m³": "m³", "m": "m", "W": "W",
    "Pa rms": "Pa rms", "m/s²": "m/s²", "s³/m³": "s³/m³", "a ratio": "a ratio", "m³/(Pa·s)":
    "m³/(Pa·s)", "V": "V", "A": "A",
}  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
def test_the_unit_of_a_row_is_that_of_its_letter(place):
    entry = formulas.entry(place)
    letter = re.match(r"[^ ]+", entry.formula)[0]
    said = [u for word, u in UNITS.items() if re.search(rf"(, | in ){re.escape(word)}(,|$| )",
                                                        entry.gives)]  # fmt: skip
    meant = formulas.LETTERS[letter]
    if letter not in ("V", "L", "k"):  # these mean two things
        own = [u for u in UNITS.values() if re.search(rf", {re.escape(u)}(,|;|$| )", meant)]
        assert not own or set(own) & set(said) or not said, (entry.gives, meant)
    assert "second" not in entry.gives or "T" not in entry.letters


def test_the_allowed_time_is_in_the_unit_that_the_sheet_says():
    assert formulas.LETTERS["T"].endswith(", h") and formulas.LETTERS["T0"].endswith(", h")
    assert "second" not in formulas.entry("sound.hearing.allowed_time").gives
    assert worked("sound.hearing.allowed_time", T0=8, L=88, L0=85, q=3) == 4  # hours


def test_no_letter_is_unexplained_and_none_is_spare():
    used = set().union(*(formulas.entry(place).letters for place in PLACES))
    left = {re.match(r"[^ ]+", formulas.entry(place).formula)[0] for place in PLACES}
    assert used | left == set(formulas.LETTERS)


def test_the_page_is_what_the_docstrings_say_now():
    assert formulas.PAGE.read_text(encoding="utf-8") == formulas.page()


def test_a_docstring_without_a_formula_is_named():
    with pytest.raises(ValueError, match=r"boxlab\.model\.driver\.Driver: its docstring"):
        formulas.entry("model.driver.Driver")
