"""Measured with a recording: a laptop, one resistor, a microphone.

`test_signal` writes what to play; the other functions read what came back. Each reads a file, finds
what is wrong with it and says so, and gives its result with how far it can be trusted.
"""

from boxlab.measure.record.film import phase_from_film, read_film
from boxlab.measure.record.impedance import read_recording
from boxlab.measure.record.levels import AgainstLevel, tuning_against_level
from boxlab.measure.record.music import OnMusic, amplifier_on_music
from boxlab.measure.record.near import NearField, near_field
from boxlab.measure.record.phases import Phases, phase_between
from boxlab.measure.record.play import play_and_record
from boxlab.measure.record.sound_file import Recording, RecordingError, open_recording
from boxlab.measure.record.steps import Steps, levels_of
from boxlab.measure.record.test_signals import test_signal

__all__ = [
    "AgainstLevel",
    "NearField",
    "OnMusic",
    "Phases",
    "Recording",
    "RecordingError",
    "Steps",
    "amplifier_on_music",
    "levels_of",
    "near_field",
    "open_recording",
    "phase_between",
    "phase_from_film",
    "play_and_record",
    "read_film",
    "read_recording",
    "test_signal",
    "tuning_against_level",
]
