"""The terms of the trade in plain words, each with its value on the demo gear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxlab.model.air import Air
from boxlab.model.losses import total_q
from boxlab.model.passband import passband
from boxlab.model.response import solve
from boxlab.model.several import isobaric
from boxlab.model.validity import PORT_SPEED, resonances
from boxlab.model.warm_coil import lost_midband
from boxlab.publish.glossary_entry import (
    FB,
    Term,
    friction,
    gear,
    loudest,
    lower_peak,
    needed,
    of_driver,
    of_radiator,
    solved_at,
)

TERMS = {
    "The driver": (
        Term("fs", "fs, free-air resonance", "Where the moving part and its suspension swing most "
             "easily, with no box.", "Hz", "", of_driver("fs"), "model.driver.Driver.fs"),
        Term("qts", "Qts, Qes, Qms", "How little the resonance is damped: by the motor (Qes), by "
             "friction (Qms), by both (Qts). High rings, low is held tight. The value is Qts.",
             "", "", of_driver("qts"), "model.driver.Driver.qts"),
        Term("vas", "Vas, equivalent volume", "The volume of air that is as stiff as the "
             "suspension. Large means soft.", "L", "ft³", lambda: gear()[0].vas(Air()),
             "model.driver.Driver.vas"),
        Term("sd", "Sd, piston area", "The area that moves air: the cone and part of its "
             "surround.", "cm²", "in²", of_driver("sd"), "model.driver.Driver"),
        Term("xmax", "Xmax, linear excursion", "How far the cone may go from rest **one way** "
             "before the motor loses its grip. Peak to peak is twice that.", "mm", "in",
             of_driver("xmax"), "model.driver.Driver"),
        Term("vd", "Vd, swept volume", "Sd times Xmax: the air the cone can push one way. It "
             "decides how loud low notes can be.", "L", "in³", of_driver("vd"),
             "model.driver.Driver.vd"),
        Term("mms", "Mms, moving mass", "Cone, coil, half the suspension, and the air that moves "
             "along.", "g", "oz", of_driver("mms"), "model.driver.Driver"),
        Term("cms", "Cms, compliance", "How far a newton pushes the suspension. Large means "
             "soft.", "mm/N", "", of_driver("cms"), "model.driver.Driver"),
        Term("bl", "Bl, force factor", "The motor's push for each ampere.", "T m", "",
             of_driver("bl"), "model.driver.Driver"),
        Term("re", "Re, Le", "The coil's resistance to direct current (the value here) and its "
             "inductance.", "Ω", "", of_driver("re"), "model.driver.Driver"),
        Term("warm-coil", "warm coil, power compression", "A coil that is hot has more ohms, draws "
             "less and is less loud at the same volts. The value is the most that 100 K cost.",
             "dB", "", lambda: lost_midband(100.0), "model.warm_coil.lost_midband"),
        Term("thermal-resistance", "thermal resistance", "How many kelvin a watt of heat makes, "
             "from coil to magnet and from magnet to air, in K/W. It is hardly ever printed, so "
             "a range is assumed.", place="model.coil_heat.CoilHeat"),
        Term("efficiency", "η₀, reference efficiency", "The share of the electrical power that "
             "becomes sound, well above resonance. Under one percent is usual for such drivers; "
             "the rest warms the coil.", "%", "",
             lambda: gear()[0].reference_efficiency(Air()),
             "model.driver.Driver.reference_efficiency"),
    ),
    "The box": (
        Term("net-volume", "Vb, net volume", "The air inside: driver, braces, port and all else "
             "taken off.", "L", "ft³", lambda: gear()[1].volume, "model.enclosure.RadiatorBox"),
        Term("sealed", "sealed box", "A box with no opening. Its air is a spring behind the "
             "cone.", place="model.enclosure.SealedBox"),
        Term("port", "port, vent", "A tube or slot. The air in it is a mass on the spring of the "
             "air in the box. The value is the length of a round 3 in port for the box here: "
             "longer than the box.", "cm", "in", lambda: gear()[2].port.length, "model.vents.Port"),
        Term("radiator", "passive radiator", "A cone without a motor that takes the place of the "
             "port's air. The value is the mass of its moving part for the tuning here.", "g",
             "oz", of_radiator("moving_mass"), "model.radiator.Radiator"),
        Term("stop", "stop, a radiator's Xmax", "How far a radiator may go from rest, one way, "
             "before its suspension ends. It has no motor to lose its grip. A cone's own stop lies "
             "past its Xmax.", "mm", "in",
             of_radiator("xmax"), "model.radiator.Radiator"),
        Term("vap", "Vap", "The volume of air that is as stiff as the radiator's suspension.",
             "L", "ft³", lambda: gear()[1].radiator.vap(), "model.radiator.Radiator.vap"),
        Term("needed-ratio", "needed ratio", "Swept volume (Sd times Xmax) that the radiators "
             "need over the driver's, so that they are not the first to stop a level programme.",
             "", "", needed, "design.radiator_need.needed_ratio"),
        Term("fb", "fb, tuning", "Where vent and box air resonate: the vent carries the output "
             "and the cone nearly rests.", "Hz", "", lambda: gear()[1].tuning(Air()),
             "model.enclosure.RadiatorBox.tuning"),
        Term("fp", "fp, null", "The radiator's own resonance with its weights. There cone and "
             "radiator cancel, and the output has a hole.", "Hz", "", of_radiator("fp"),
             "model.radiator.Radiator.fp"),
        Term("ql", "QL, leakage Q", "How little the box leaks. 7 is a usual start for a small "
             "well-made box.", "", "", lambda: gear()[1].ql, "model.enclosure.RadiatorBox"),
        Term("qr", "QR, friction Q", "How little friction the vent has at the tuning: the value "
             "is the demo radiator's.", "", "", friction, "model.motion.phase_at_tuning"),
        Term("qa", "QA, absorption Q", "How little the walls and the filling of a vented box take "
             "up. The value is what all losses together, QB, come to with a QL of 7 and a QA of "
             "70.", "", "", lambda: total_q(replace(gear()[2], ql=7, qa=70)),
             "model.losses.total_q"),
        Term("unequal", "unequal radiators", "Radiators with other weights in one box: a tuning "
             "and a null for each, instead of one. The value is the upper tuning of two in 20 L, "
             "150 g on one and nothing on the other.", "Hz", "", lambda: _unequal(),
             "model.mixed_radiators.MixedRadiatorBox"),
        Term("several", "several drivers", "Equal drivers that share a box and a signal. They act "
             "as one with the cone area, the Vas and the watts of all of them; their coils make "
             "the load as they are wired.", place="model.several.together"),
        Term("isobaric", "isobaric pair", "Two drivers one behind the other with a small sealed "
             "space between. They act as one of half the Vas, and take twice the watts for the "
             "same level. The value is the Vas of such a pair.", "L", "ft³",
             lambda: isobaric(gear()[0]).vas(Air()), "model.several.isobaric"),
        Term("band-pass", "band-pass, two chambers", "A driver between two volumes of air, of "
             "which one or both breathe. Out of the scope of this library.",
             place="model.mixed_radiators.MixedRadiatorBox"),
        Term("pipe", "pipe resonance", "Where the air in a port rings as an organ pipe does. The "
             "value is that of the 3 in port.", "Hz", "",
             lambda: gear()[2].port.first_pipe_resonance(),
             "model.vents.Port.first_pipe_resonance"),
        Term("end-correction", "end correction", "Air that moves along outside the ends of a port, "
             "as a length of port. A flange or a wall beside an end adds to it. The value is that "
             "of the 3 in port.", "cm", "in", lambda: gear()[2].port.end_correction,
             "model.vents.end_correction_of"),
        Term("centre-line", "centre line", "The middle of a folded port, along which its length "
             "counts. At a sharp corner the air takes a shorter way.",
             place="model.port_fitting.centre_line"),
        Term("flare", "flare", "A port's end that widens. It keeps the air from tearing off, and "
             "acts as less length than it has.", place="model.ports_built.Flare"),
        Term("standing-wave", "standing wave", "Where half a wave fits along the longest inside "
             "edge, and the box rings. The value is for 14 L of usual shape.", "Hz", "",
             lambda: resonances(gear()[1])[0].frequency, "model.validity.resonances"),
        Term("f3", "f3, corner", "The frequency above which the level stays within 3 dB of what "
             "it is higher up. The value is that of the radiator box here.", "Hz", "",
             lambda: passband(gear()[0], gear()[1]).f3, "model.passband.passband"),
    ),
    "The response": (
        Term("spl", "SPL, level", "Sound pressure level, dB re 20 µPa. 6 dB is twice the "
             "pressure. The value is at the tuning, at 2.83 V and 1 m.", "dB", "", solved_at("spl"),
             "model.response.Response.spl"),
        Term("half-space", "half space", "The box on a large floor outdoors: sound goes into half "
             "of all directions. Levels here are for that, 1 m away.",
             place="model.response.solve"),
        Term("impedance", "impedance", "Volts for each ampere at the terminals, by frequency. The "
             "value is its size at the tuning.", "Ω", "",
             lambda: abs(solved_at("impedance")()), "model.response.Response.impedance"),
        Term("peaks", "fL, fH, valley", "The two peaks of a vented box's impedance, and the low "
             "place between them, near the tuning. The value is the lower peak, fL.", "Hz", "",
             lower_peak, "model.response.Response.impedance"),
        Term("sag", "sag", "How far the level falls below a maximally flat one of the same "
             "corner. (Of a radiator that faces up or down: how far its weight pulls it.)", "dB",
             "", lambda: passband(*gear()[:2]).sag, "model.passband.passband"),
        Term("small-k", "k, Small's constant", "Efficiency over size times corner cubed, "
             "η0/(f3³·Vb), in s³/m³. Each kind of box has a ceiling for it. The value is that of "
             "the radiator box here.", "", "",
             lambda: passband(*gear()[:2]).constant, "model.passband.efficiency_constant"),
        Term("excursion", "excursion", "How far the cone is from rest, one way, peak. The value "
             "is at 50 Hz and 2.83 V.", "mm", "in", solved_at("cone_excursion", 50.0),
             "model.response.Response.cone_excursion"),
        Term("air-speed", "air speed", "Peak speed of the air in a port. Above about "
             f"{PORT_SPEED:g} m/s it may be heard (Small 1973; the figure from memory). The "
             "value is at the tuning and 20 V.", "m/s", "ft/s",
             lambda: solve(gear()[0], gear()[2], np.array([FB]), 20.0).vent_air_speed[0],
             "model.response.Response.vent_air_speed"),
        Term("vent-phase", "phase of the vent", "How far the vent is ahead of the cone, both "
             "counted outward. A quarter cycle is 90°. The value is at the tuning.", "°", "",
             solved_at("vent_phase"), "model.response.Response.vent_phase"),
        Term("group-delay", "group delay", "How much later the middle of a slow burst comes, "
             "without the way to the listener. The value is at the tuning.", "ms", "",
             solved_at("group_delay"), "model.response.Response.group_delay"),
        Term("limit", "limit", "What stops it first as it gets louder: cone excursion, radiator "
             "excursion, air speed, amplifier or heat. The value is the loudest steady tone at "
             "the tuning with 300 W into Re.", "dB", "", loudest, "model.limits.max_output"),
        Term("footing", "footing", "What two boxes are given alike when they are compared: "
             "voltage, amplifier, band or space.", place="design.fair_comparison.stand"),
        Term("weakest-note", "weakest note", "The note of the band at which a box has to stop "
             "soonest as it gets louder.", place="design.fair_comparison.stand"),
        Term("front", "trade-off front", "The designs that no other beats in one thing without "
             "losing in another.", place="design.pareto.front"),
    ),
    "Amplifier, cable, car": (
        Term("rms", "rms, peak, peak to peak", "Root mean square is what heats; a sine's peak is "
             "√2 times that, and peak to peak is twice the peak. Volts here are rms.",
             place="model.response.solve"),
        Term("crest", "crest factor", "Peak over rms of a signal. Music has 12 dB or more, a sine "
             "3 dB, so an amplifier that just clips gives music far less than its rating.",
             "dB", "", lambda: 20 * np.log10(2) / 2, "car.power.on_programme"),
        Term("clipping", "clipping, rails", "An amplifier cannot go beyond its supply, the rails; "
             "turned up further, it cuts the peaks off, and the average goes on rising.",
             place="car.power.clip"),
        Term("high-pass", "high-pass, low-pass, order", "A filter that lets pass what lies above, "
             "or below, its corner, where it takes 3 dB. Order 1 falls 6 dB an octave beyond it, "
             "order 4 falls 24. The value is what 24 dB an octave at 30 Hz takes at 20 Hz.", "dB",
             "", lambda: _high_pass(), "model.filters.HighPass"),
        Term("boost", "boost, cut, Q of a filter", "A bell round one frequency: its height in dB, "
             "and Q for how narrow it is. 6 dB are twice the volts and four times the watts. The "
             "value is the width of one at 40 Hz with a Q of 1, where half its dB are left.",
             "Hz", "", lambda: 40.0, "model.filters.Peak"),
        Term("shelf", "low shelf", "A filter that lifts or lowers all below its frequency alike.",
             place="model.filters.Shelf"),
        Term("first-stop", "first stop", "What ends the volume as it goes up over a whole band, "
             "and the note that does it.", place="model.first_stop.first_stop"),
        Term("supply-sag", "sag of the supply", "The volts that battery and cable lose under load. "
             "Watts go with the square of what is left. The value is 12.0 V left of 13.8 V.", "dB",
             "", lambda: 20 * np.log10(12.0 / 13.8), "model.power_stage.PowerStage"),
        Term("awg", "AWG, mm²", "American wire gauge: a smaller number is a thicker wire. The "
             "value is the copper of 4 AWG.", "mm²", "in²", lambda: _awg(4), "car.cable.awg_area"),
        Term("cabin-gain", "cabin lift", "A shut car is pumped as a whole below its first length "
             "mode, which lifts the lowest notes. By how much depends on leaks and panels.",
             place="car.vehicle.cabin_lift"),
        Term("altitude", "altitude, thin air", "Higher up the air presses less and is a softer "
             "spring, so a radiator box tunes lower; a port's air is as much lighter, and its "
             "tuning stays. Cold lowers a port's tuning. The value is where the radiator box here "
             "tunes at 1500 m (4900 ft).", "Hz", "",
             lambda: gear()[1].tuning(Air.at_altitude(1500.0, temperature=20.0)),
             "model.air.standard_pressure"),
        Term("first-mode", "first length mode, pressure zone", "Where the cabin is half a wave "
             "long. Well below it the pressure is even throughout. The value is for 2.6 m inside.",
             "Hz", "", lambda: _cabin().first_mode(), "car.vehicle.Cabin.first_mode"),
        Term("dose", "dose", "The share of a day's allowed noise, by a rule. The value is half an "
             "hour at 94 dBA by NIOSH.", "%", "", lambda: _dose(94.0, 1800.0),
             "sound.hearing.dose"),
        Term("dba", "dBA, dBC", "A level weighted as the ear hears soft (A) or loud (C) sound. "
             "The value is what the A curve takes from a 40 Hz tone.", "dB", "",
             lambda: _weight("A"), "sound.hearing.weighting"),
    ),
}  # fmt: skip


def _unequal():
    from boxlab.model.mixed_radiators import MixedRadiatorBox

    box = MixedRadiatorBox.weighted(0.02, gear()[1].radiator, [0.15, 0.0])
    return box.tuning(Air())


def _high_pass():
    from boxlab.model.chain import Chain, HighPass

    return Chain(HighPass(30.0, order=4)).gain_db(20.0)


def _awg(gauge):
    from boxlab.car.cable import awg_area

    return awg_area(gauge)


def _weight(curve):
    from boxlab.sound.hearing import weighting

    return weighting(40.0, curve)


def _cabin():
    from boxlab.car.vehicle import Cabin

    return Cabin()


def _dose(level, seconds):
    from boxlab.sound.hearing import dose

    return dose(level, seconds) / 100
