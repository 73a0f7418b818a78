"""Every slider takes every unit of its kind, says its range in the unit typed, blocks no other."""

import pytest
from page_side import Page

from boxlab.base.quantities import UNITS, find_unit
from boxlab.draw.scene import Slider
from boxlab.explainers import all_explainers, explainer
from boxlab.measure import Sweep
from boxlab.panel import settings_text
from boxlab.panel.live_panel import Panel
from boxlab.panel.sweep_desk import Desk

AMOUNTS = {
    "length": ["4 in", "3/4 in", "2 ft", '14 1/4"', "6 ft 3 in", "35 mm", "0,4 m"],
    "mass": ["5 oz", "1 lb", "1 lb 4 oz", "120 g"],
    "volume": ["0.6 ft3", "900 cu in", "14,5 L", "1 cubic foot"],
    "temperature": ["68 °F", "104 degF", "20 °C", "20 C"],
    "speed": ["40 ft/s", "17 m/s"],
}
SLIDERS = [
    (item.name, control)
    for item in all_explainers()
    for control in item.controls
    if isinstance(control, Slider) and getattr(find_unit(control.unit), "kind", "") in AMOUNTS
]


def in_si(unit, value):
    return unit.into_si(value)


@pytest.mark.parametrize(("name", "control"), SLIDERS, ids=lambda v: getattr(v, "name", v))
def test_every_slider_takes_every_unit_of_its_kind(name, control):
    own = find_unit(control.unit)
    for unit in UNITS[own.kind]:
        if unit == own or unit.size < own.size / 2e3 or unit.size > own.size * 2e3:
            continue
        middle = own.from_si(own.into_si((control.low + control.high) / 2))
        text = f"{unit.from_si(own.into_si(middle)):.6g} {unit.symbol}"
        value = settings_text.typed(control, text)
        assert value == pytest.approx(middle, rel=2e-3), text
        assert settings_text.checked(explainer(name), {control.name: value})
    for text in AMOUNTS[own.kind]:
        try:
            settings_text.typed(control, text)
        except ValueError as refused:
            assert "goes from" in str(refused), (text, refused)


@pytest.mark.parametrize(
    ("name", "setting", "text", "value"),
    [
        ("weights_for_a_tuning", "added", "5 oz", 141.7),
        ("port_that_will_not_fit", "diameter", "4 in", 101.6),
        ("gap_to_volume", "height", '14 1/4"', 361.9),
        ("gap_to_volume", "width", "2 ft", 609.6),
        ("gap_to_volume", "board", "3/4 in", 19.05),
        ("cable_and_fuse", "ambient", "104 °F", 40),
    ],
)
def test_in_the_panel_and_on_the_command_line(name, setting, text, value):
    panel = Panel(explainer(name))
    assert Page(panel).type(setting, text) == ""
    assert panel.state[setting] == pytest.approx(value, rel=1e-3)


def test_the_range_is_said_in_the_unit_typed():
    control = next(c for c in explainer("port_or_radiator").controls if c.name == "volume")
    with pytest.raises(ValueError, match=r"goes from [\d.]+ to [\d.]+ ft³"):
        settings_text.typed(control, "90 ft3")


def test_fahrenheit_has_its_own_zero():
    fahrenheit = find_unit("°F")
    assert fahrenheit.into_si(212) == pytest.approx(100)
    assert fahrenheit.from_si(-40) == pytest.approx(-40)


def test_one_box_that_cannot_be_read_does_not_stop_the_others():
    import numpy as np

    from boxlab import solve
    from boxlab.panel.sweep_plan import Plan

    desk = Desk()
    f = np.geomspace(10, 500, 200)
    z = solve(Plan().driver, Plan().box, f).impedance
    desk.take("sweep.csv", Sweep.from_impedance(f, z).to_text().encode())
    desk.boxes["volume"].value = "about a shoe box"
    desk.boxes["fb"].value = "36"
    desk.redraw()
    assert desk.report.plan.fb == 36 and desk.report.plan.volume == Plan().volume
    assert "I find no number" in desk.message.value + desk.said.value and desk.boxes[
        "volume"
    ].value.startswith("about")
    desk.boxes["volume"].value = "0.5 ft3"
    desk.redraw()
    assert desk.report.plan.volume == pytest.approx(14.16)
    assert "I find no number" not in desk.message.value + desk.said.value
