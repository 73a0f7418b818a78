"""The reader of sweeps: many ways to write one table, and nothing lost."""

import io
import warnings
from pathlib import Path

import numpy as np
import pytest

from boxlab.base.checks import UnitWarning
from boxlab.measure import Sweep, read_sweep
from boxlab.measure.read.source import decode

F = np.geomspace(10, 400, 30)
Z = 5 + 30 / (1 + 5j * (F / 40 - 40 / F)) + 2j * np.pi * F * 1e-3
M, P = np.abs(Z), np.degrees(np.angle(Z))
ROWS = np.c_[F, M, P]
TABLES = Path(__file__).parent / "sweep_tables"


def rows(separator=",", decimal=".", columns=(F, M, P), form="{:.4f}"):
    cells = [[form.format(v).replace(".", decimal) for v in row] for row in np.transpose(columns)]
    lines = [separator.join(row) for row in cells]
    return "\n".join(lines) + "\n"


SHUFFLE = np.random.default_rng(4).permutation(30)
LAYOUTS = {
    "comma": rows(),
    "semicolon, decimal comma": rows(";", ","),
    "tab": rows("\t"),
    "tab, decimal comma": rows("\t", ","),
    "spaces": rows("   "),
    "spaces, decimal comma": rows("  ", ","),
    "comma and space, decimal comma": rows(", ", ","),
    "bars": "| f | Z | phase |\n|---|---|---|\n"
    + "".join(f"| {a:.3f} | {b:.4f} | {c:.3f} |\n" for a, b, c in ROWS),
    "header": "Frequency (Hz),Impedance (Ohm),Phase (deg)\n" + rows(),
    "header set with spaces": "Freq (Hz)  Impedance (Ohm)   Phase angle (deg)\n" + rows(" "),
    "header with single spaces": "Freq (Hz) Impedance (Ohm) Phase angle (deg)\n" + rows(" "),
    "header in a remark": "# Freq(Hz), Z(ohm), Phase(deg)\r\n" + rows().replace("\n", "\r\n"),
    "units below names": "Frequency;Impedance;Phase\nkHz;Ohm;rad\n"
    + rows(";", ".", (F / 1e3, M, np.radians(P)), "{:.7f}"),
    "units alone": "Hz\tOhm\tDegrees\n" + rows("\t"),
    "kilohertz": "f [kHz]\t|Z| [Ω]\tφ [°]\n" + rows("\t", ".", (F / 1e3, M, P), "{:.7f}"),
    "kilo-ohm": "f/Hz;|Z|/kΩ;φ/°\n" + rows(";", ".", (F, M / 1e3, P), "{:.8f}"),
    "radians": "f,Z,phase (rad)\n" + rows(",", ".", (F, M, np.radians(P)), "{:.6f}"),
    "angular frequency": "omega (rad/s),|Z|,arg\n" + rows(",", ".", (2 * np.pi * F, M, P)),
    "real and imaginary": "Frequency,Re(Z),Im(Z)\n" + rows(",", ".", (F, Z.real, Z.imag)),
    "R and X": "freq,R,X\n" + rows(",", ".", (F, Z.real, Z.imag)),
    "minus imaginary": "Frequency/Hz;Z'/ohm;-Z''/ohm\n" + rows(";", ".", (F, Z.real, -Z.imag)),
    "other order": "Phase,Z (ohm),Frequency (Hz)\n" + rows(",", ".", (P, M, F)),
    "extra columns": "No,Freq,Z,Phase,Level (dB)\n"
    + rows(",", ".", (np.arange(30), F, M, P, 0 * F + 90)),
    "row numbers without header": rows(",", ".", (np.arange(30), F, M, P), "{:.6g}"),
    "scientific": rows("\t", ".", form="{:.6E}"),
    "scientific, decimal comma": rows("\t", ",", form="{:.6E}"),
    "old exponent": rows("  ", form="{:.7E}").replace("E", "D"),
    "separator at the end": rows().replace("\n", ",\n"),
    "quoted": '"Freq","Z","Phase"\n'
    + "".join(",".join(f'"{v:.4f}"'.replace(".", ",") for v in r) + "\n" for r in ROWS),
    "units in cells": "".join(f"{a:.3f} Hz; {b:.4f} Ω; {c:.3f}°\n" for a, b, c in ROWS),
    "units among spaces": "".join(f"{a:.3f} Hz {b:.4f} Ohm {c:.3f} deg\n" for a, b, c in ROWS),
    "separator announced": "sep=;\nF;Z;P\n" + rows(";"),
    "typographic minus": rows().replace("-", "−"),
    "old line ends": rows().replace("\n", "\r"),
    "unsorted": rows(",", ".", (F[SHUFFLE], M[SHUFFLE], P[SHUFFLE])),
    "high to low": rows(",", ".", (F[::-1], M[::-1], P[::-1])),
    "twice": rows() + rows(),
    "phase from 0 to 360": rows(",", ".", (F, M, P % 360)),
    "German": "Frequenz in Hz;Impedanz in Ohm;Phase in Grad\n" + rows(";", ","),
    "remarks of every kind": "* today\n! level 2.83\n// quiet\nREM none\n% 12 34\n" + rows(" "),
    "settings above": "Tuesday class\nLevel 0.5 V\n\nFreq\tZ\tPhase\n" + rows("\t"),
}  # fmt: skip


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_layout_gives_the_same_sweep(layout):
    s = read_sweep(LAYOUTS[layout])
    assert len(s) == 30
    np.testing.assert_allclose(s.frequency, F, rtol=2e-4)
    np.testing.assert_allclose(s.magnitude, M, rtol=2e-4)
    np.testing.assert_allclose(s.phase, P, atol=0.02)
    assert len(s.lines) == len(s.raw.splitlines())
    assert not s.set_aside


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_encodings(encoding):
    text = "Frequency;Impedance;Phase °\r\n" + rows(";", ",").replace("\n", "\r\n")
    s = read_sweep(text.encode(encoding))
    np.testing.assert_allclose(s.magnitude, M, rtol=1e-4)
    assert "°" in s.raw


def test_magnitude_only_in_either_order_without_header():
    for columns in ((F, M), (M, F)):
        s = read_sweep(rows(";", ".", columns))
        assert s.phase is None
        np.testing.assert_allclose(s.frequency, F, rtol=1e-4)
    with pytest.raises(ValueError, match="magnitude only"):
        _ = s.impedance


@pytest.mark.parametrize(
    ("text", "word"),
    [
        (rows("\t", ".", (F / 1e3, M), "{:.6f}"), "kHz"),
        (rows(",", ".", (F, M, np.radians(P)), "{:.6f}"), "radians"),
        ("Freq (Hz),Impedance (dB)\n" + rows(",", ".", (F, 20 * np.log10(M)), "{:.6f}"), "dB"),
    ],
)
def test_guessed_units_warn_and_say_how_to_overrule(text, word):
    with pytest.warns(UnitWarning, match=word):
        s = read_sweep(text)
    np.testing.assert_allclose(s.frequency, F, rtol=1e-3)
    np.testing.assert_allclose(s.magnitude, M, rtol=1e-3)
    assert any(word.lower() in note.lower() for note in s.notes)


def test_a_unit_that_was_asked_for_is_not_guessed():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        s = read_sweep(rows("\t", ".", (F / 1e3, M), "{:.6f}"), frequency_unit="kHz")
    np.testing.assert_allclose(s.frequency, F, rtol=1e-3)


def test_magnitudes_no_loudspeaker_has():
    with pytest.warns(UnitWarning, match="mohm"):
        read_sweep(rows(",", ".", (F, M * 1e3)))
    with pytest.warns(UnitWarning, match="ends at"):
        read_sweep("0.6,5\n1.2,6\n4,7\n")


def test_thousands_marks():
    english = "f;Z (mOhm)\n" + "".join(f"{a:,.3f};{b * 1e3:,.1f}\n" for a, b in np.c_[F, M])
    swap = str.maketrans(",.", ".,")
    for text in (english, english[:9] + english[9:].translate(swap)):
        s = read_sweep(text)
        np.testing.assert_allclose(s.magnitude, M, rtol=1e-3)
        np.testing.assert_allclose(s.frequency, F, rtol=1e-3)


def test_commas_that_do_both_jobs_are_joined_and_said():
    s = read_sweep(rows(",", ",", (F, M)))
    np.testing.assert_allclose(s.magnitude, M, rtol=1e-3)
    assert any("joined" in note for note in s.notes)


def test_a_comma_and_a_space_part_cells_where_commas_are_decimal_marks():
    s = read_sweep("20, 8,5\n30, 9\n40,5, 10,25\n")
    assert s.frequency.tolist() == [20, 30, 40.5]
    assert s.magnitude.tolist() == [8.5, 9, 10.25]


def test_rows_that_cannot_be_used_are_listed_with_line_and_reason():
    text = (
        "Freq,Z,Phase\n"
        + rows()
        + "500,NaN,3\n600,Inf,2\n700,,\n0,5,0\n-3,5,0\nabc\n800,7,\n\n# end"
    )
    s = read_sweep(text)
    assert len(s) == 30
    told = {line.number: line.why for line in s.set_aside}
    assert told == {
        32: "no number for the magnitude",
        33: "no number for the magnitude",
        34: "not a row of numbers",
        35: "frequency is zero or below",
        36: "frequency is zero or below",
        37: "not a row of numbers",
        38: "no phase, while other rows have one",
    }
    assert [line.kind for line in s.lines[-2:]] == ["blank", "comment"]
    assert s.raw == text


def test_repeated_rows_are_averaged():
    s = read_sweep("20,8\n30,9\n20,10\n")
    assert s.frequency.tolist() == [20, 30]
    assert s.magnitude.tolist() == [9, 9]
    assert "averaged" in " ".join(s.notes)


def test_two_rows_are_enough_and_one_is_not():
    assert len(read_sweep("20 8.5\n30 9.5\n")) == 2
    with pytest.raises(ValueError, match=r"one row of numbers in 1 lines.*'20 8.5'"):
        read_sweep("20 8.5\n")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("hello\nno table here\n", "line 1 reads 'hello'"),
        ("", "empty"),
        ("no-such-file.csv", "cannot read a sweep from the file 'no-such-file.csv'"),
        ("Freq,SPL\n" + rows(",", ".", (F, M)), "names a frequency but no impedance"),
        ("20,-4\n30,-5\n40,-6\n", "line 1 '20,-4': magnitude is zero or below"),
        ((), "nothing has been uploaded"),
        (12.0, "cannot be read from a float"),
    ],
)
def test_errors_say_what_is_wrong(text, word):
    with pytest.raises(ValueError) as caught:
        read_sweep(text)
    assert word in str(caught.value)


def test_from_files_uploads_lines_and_arrays(tmp_path):
    path = tmp_path / "sweep.csv"
    path.write_text(rows(), encoding="utf-8")
    upload = {"name": "sweep.csv", "type": "text/csv", "content": memoryview(rows().encode())}

    class Widget:
        value = (upload,)

    old = {"sweep.csv": {"metadata": {"name": "sweep.csv"}, "content": rows().encode()}}
    files = [path, str(path), io.StringIO(rows()), io.BytesIO(rows().encode())]
    uploads = [(upload,), upload, old, Widget()]
    sources = [*files, *uploads, rows().encode(), rows().splitlines(), ROWS]
    for source in sources:
        np.testing.assert_allclose(read_sweep(source).magnitude, M, rtol=1e-3)
    assert read_sweep(path).name == "sweep.csv"
    assert read_sweep((upload,)).name == "sweep.csv"
    with pytest.raises(ValueError, match="2 files"):
        read_sweep((upload, upload))


def test_columns_and_units_can_be_said():
    text = rows(",", ".", (M, F, P))
    s = read_sweep(text, columns="magnitude, frequency, phase")
    np.testing.assert_allclose(s.frequency, F, rtol=1e-3)
    with pytest.raises(ValueError, match="phase_unit"):
        read_sweep(text, phase_unit="turns")
    with pytest.raises(ValueError, match="decimal"):
        read_sweep(text, decimal="x")


def test_what_is_written_reads_back():
    s = Sweep.from_impedance(F, Z)
    again = read_sweep(s.to_text())
    np.testing.assert_allclose(again.impedance, Z, rtol=1e-4)
    assert read_sweep(Sweep(F, M).to_text()).phase is None


def test_sweep_values_are_checked_sorted_and_frozen():
    s = Sweep([30, 20], [9, 8])
    assert s.frequency.tolist() == [20, 30]
    with pytest.raises(ValueError, match="read-only"):
        s.frequency[0] = 1
    with pytest.raises(ValueError, match="one length"):
        Sweep([20, 30], [9])
    with pytest.raises(ValueError, match="magnitude must be above zero, got nan at index 1"):
        Sweep([20, 30], [9, np.nan])


def test_decode_keeps_every_byte():
    assert decode(bytes(range(128, 256))) == bytes(range(128, 256)).decode("latin-1")


@pytest.mark.parametrize("path", sorted(TABLES.glob("*.txt")), ids=lambda p: p.stem)
def test_corpus(path):
    """Awkward tables kept as files: each reads as its last line says, or fails clearly."""
    text = decode(path.read_bytes())
    expected = text.rstrip().splitlines()[-1].split("expect:")[1].strip()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnitWarning)
        if expected.startswith("error"):
            with pytest.raises(ValueError, match=expected.split(None, 1)[1]):
                read_sweep(path)
            return
        s = read_sweep(path)
    count, f, z = expected.split()
    assert len(s) == int(count)
    assert s.frequency[0] == pytest.approx(float(f))
    assert s.magnitude[0] == pytest.approx(float(z))
