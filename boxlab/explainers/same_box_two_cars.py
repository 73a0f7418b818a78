"""Why the same box differs between vehicles: two cabins, each with its band."""

from __future__ import annotations

from boxlab.car.vehicle import at_seat
from boxlab.draw.scene import Choice, Explainer, Line, Mark, Number, Scene, Slider
from boxlab.explainers import _cars as cars
from boxlab.explainers import _music as music
from boxlab.explainers import _shared as shared
from boxlab.explainers._cars import FREQUENCY
from boxlab.explainers._cuts import cut
from boxlab.explainers._shared import against_frequency
from boxlab.gear import shelf
from boxlab.model.response import solve


def scene(car, other, build, drive, frequency) -> Scene:
    """The ten-inch box of one build at the seat of two cabins."""
    r = solve(shelf.the_driver(), music.box_of(build), FREQUENCY, drive)
    one, two = (at_seat(r, cars.CARS[name]) for name in (car, other))
    edges = {
        key: [shared.at(FREQUENCY, getattr(seat, key), frequency) for seat in (one, two)]
        for key in ("low", "mid", "high")
    }
    like = edges["mid"][0] - edges["mid"][1]
    most = edges["high"][0] - edges["low"][1]
    least = edges["low"][0] - edges["high"][1]
    zone = min(one.lift.valid[1], two.lift.valid[1])
    return Scene(
        shows={build: r},
        cutaway=cut(shelf.the_driver(), music.box_of(build), frequency, drive),
        title=f"{car} against {other}, {build}",
        plots=(
            _seat("At the seat: first cabin", one, build),
            _seat("At the seat: second cabin", two, build),
            _difference(one, two, zone),
            _within(one),
        ),
        readout=(
            f"At {frequency:g} Hz the {car} gets {edges['low'][0]:.0f} to {edges['high'][0]:.0f} "
            f"dB, the {other} {edges['low'][1]:.0f} to {edges['high'][1]:.0f} dB.",
            f"Both middling, the {car} gets {_more(like)} there.",
            f"But either may be tight or leaky, and seats differ: anywhere from {_signed(least)} "
            f"to {_signed(most)} dB.",
            f"The first length modes are at {_mode(car)} and {_mode(other)} Hz; above half of the "
            "lower one the two differ by modes as well, and seats by centimetres.",
        ),
        numbers=(
            *(
                Number(
                    f"{name}: {cars.CARS[name].volume:.2f} m³, at {frequency:g} Hz",
                    f"{edges['low'][k]:.1f} to {edges['high'][k]:.1f} dB",
                )
                for k, name in enumerate((car, other))
            ),
            Number("difference, both middling", f"{like:.1f} dB"),
        ),
        caption=(
            f"The same {build} box with {_driver()} at {drive:g} V in two cabins: "
            f"{car}, {cars.sizes_text(cars.CARS[car])}, and {other}, "
            f"{cars.sizes_text(cars.CARS[other])}. At {frequency:g} Hz, both middling, the {car} "
            f"gets {_more(like)}; with unknown tightness and seat {_signed(least)} to "
            f"{_signed(most)} dB."
        ),
        alt=(
            "Four plots against frequency, 10 to 200 Hz. Upper row: level at the seat in dB re "
            f"20 µPa, 50 to 130, as a band, in the {car} and in the {other}. Lower left: the "
            f"difference in dB, −30 to 30, both middling, and at most and at least. Lower right: "
            f"by how many dB the edges of the {car} differ, 0 to 20."
        ),
        code=(
            "from boxlab import solve\n"
            "from boxlab.gear.scenario import DRIVERS\n"
            "from boxlab.explainers import _cars as cars, _music as music\n"
            "from boxlab.car.vehicle import at_seat\n"
            f"r = solve(DRIVERS['ten-inch'], music.box_of({build!r}), [{frequency:g}], {drive:g})\n"
            f"for car in ({car!r}, {other!r}):\n"
            "    seat = at_seat(r, cars.CARS[car])\n"
            "    print(car, seat.low, seat.mid, seat.high)"
        ),
    )


def _driver():
    return "the ten-inch driver" if shelf.current() is None else "your driver"


def _signed(value):
    return f"{value:+.0f}".replace("-", "−").replace("+0", "0").replace("−0", "0")


def _more(value):
    return f"{abs(value):.1f} dB {'more' if value >= 0 else 'less'}"


def _mode(name):
    return f"{cars.CARS[name].first_mode():.0f}"


def _seat(title, seat, build):
    return against_frequency(
        title,
        "level, dB re 20 µPa",
        (50, 130),
        (
            Line(FREQUENCY, seat.outdoors, "quiet", "outdoors"),
            Line(FREQUENCY, seat.high, "sum", "high edge", build),
            Line(FREQUENCY, seat.low, "leak", "low edge", build),
        ),
        (Mark(seat.lift.valid[1], "zone ends", "limit"),),
    )


def _difference(one, two, zone):
    return against_frequency(
        "The first over the second",
        "difference, dB",
        (-30, 30),
        (
            Line(FREQUENCY, one.high - two.low, "limit", "at most"),
            Line(FREQUENCY, one.mid - two.mid, "sum", "both middling"),
            Line(FREQUENCY, one.low - two.high, "leak", "at least"),
        ),
        (Mark(0.0, "", "quiet", "y"), Mark(zone, "zone ends", "limit")),
    )


def _within(one):
    return against_frequency(
        "High edge over low, the same first cabin",
        "difference, dB",
        (0, 20),
        (Line(FREQUENCY, one.high - one.low, "sum", "high over low"),),
        (Mark(one.lift.valid[1], "zone ends", "limit"),),
    )


EXPLAINERS = (
    Explainer(
        name="same_box_two_cars",
        question="Why does the same box sound different in another car?",
        controls=(
            Choice("car", "First cabin (invented)", tuple(cars.CARS), "small hatchback"),
            Choice("other", "Second cabin", tuple(cars.CARS), "estate", help=cars.TRADE_WORDS),
            Choice("build", "Box", music.BUILDS, "radiator"),
            Slider("drive", "Drive", 2, 40, 10, 1, "V"),
            Slider("frequency", "Look at", 12, 80, 25, 1, "Hz"),
        ),
        scene=scene,
        lesson="08-in-the-car.ipynb",
        anchor="Why-does-the-same-box-differ-between-cars",
        answer=(
            "Less air in the cabin, more lift; but how tight the car is counts for as much as its "
            "size. And above its first length mode every car has other peaks at other seats."
        ),
        presets={"saloon against van": {"car": "saloon", "other": "van"}},
    ),
)
