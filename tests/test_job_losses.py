"""Where a box loses what, from the files of a job: told, kept in the job, printed on the sheet.

The sweeps are made by the circuit of `loss_sweeps`, nothing of boxlab's.
"""

from __future__ import annotations

import numpy as np
import pytest
from loss_sweeps import load
from troubled_sweeps import BULK, a_cone, read

import boxlab
from boxlab.__main__ import main
from boxlab.gear.job_keys import JobError
from boxlab.gear.job_measured import measure

F = np.geomspace(8, 800, 300)
TRUE = {"ql": 9.0, "qa": 30.0, "qp": 45.0}
FB, COMPLIANCE_RATIO, ADDED = 36.0, 1.8, 0.06
AREA, RMS, COUNT = 0.035, 3.2, 1  # of the radiator: m², N·s/m
FP = 14.0


def job_of(folder, kind="ported", blocked=True):
    """A job whose files were swept in a circuit of its own."""
    rng = np.random.default_rng(21)
    cone = a_cone(rng, "none")
    volume = cone.truth()["vas"] / COMPLIANCE_RATIO

    def behind(shut=False):
        if kind == "ported":
            return load(cone, F, volume, FB, **TRUE, blocked=shut)
        w, cab = 2 * np.pi * F, volume / BULK
        wb, wp = 2 * np.pi * FB, 2 * np.pi * FP
        mass = AREA**2 / (cab * (wb**2 - wp**2))
        branch = (1j * w * mass + RMS + wp**2 * mass / (1j * w)) / AREA**2
        flow = 1 / (1 / (1j * w * cab) + 1 / (wb * cab * TRUE["qa"])) + wb * cab / TRUE["ql"]
        return cone.sd**2 / (flow + (0 if shut else 1 / branch))

    sweeps = {"free air": cone.sweep(F), "added mass": cone.sweep(F, added=ADDED),
              "as found": cone.sweep(F, behind())}  # fmt: skip
    if blocked:
        sweeps["radiators blocked"] = cone.sweep(F, behind(True))
    rows = ""
    for what, z in sweeps.items():
        magnitude, phase = read(rng, z, 1e-3)
        name = what.replace(" ", "-") + ".csv"
        (folder / name).write_text(boxlab.Sweep(F, magnitude, phase).to_text(), encoding="utf-8")
        rows += f'[[measurement]]\nfile = "{name}"\nwhat = "{what}"\n'
        rows += f'added_mass = "{1e3 * ADDED:g} g"\n' if what == "added mass" else ""
    vent = 'port_diameter = "70 mm"\n'
    if kind == "radiator":
        vent = f'[radiator]\ncount = {COUNT}\nsd = "{1e4 * AREA:g} cm2"\nxmax = "20 mm"\n'
    path = folder / "it.job.toml"
    path.write_text(
        f'[driver]\ncoils = 1\nsd = "{1e4 * cone.sd:.6g} cm2"\nxmax = "12 mm"\npe = "300 W"\n'
        f'[box]\nkind = "{kind}"\n{vent}{rows}', encoding="utf-8",
    )  # fmt: skip
    return path


def inside(found, true):
    assert abs(1 / found - 1 / true) < 2.6 * found.u / found**2, (found, true)


def test_a_sweep_with_the_vent_blocked_tells_the_losses_apart(tmp_path, capsys):
    # seen red: the sweep was listed and read, and nothing came of it
    path = job_of(tmp_path)
    found = measure(boxlab.read_job(path))
    for name, true in TRUE.items():
        inside(found.values["box"][name], true)
    assert any("Told apart: QL (leak)" in words for words in found.words)
    assert main(["job", "measure", str(path), "--write"]) == 0
    assert "box.qa:" in capsys.readouterr().out
    job = boxlab.read_job(path)
    assert job.box.qp == pytest.approx(float(found.values["box"]["qp"]), rel=0.01)
    page = tmp_path / "sheet.html"
    assert main(["sheet", str(path), "--to", str(page)]) in (0, 1)
    text = page.read_text(encoding="utf-8")
    assert "absorption, QA" in text and job.known["box.qa"].why in text


def test_the_blocked_sweep_adds_to_what_the_others_tell(tmp_path):
    spread = []
    for blocked in (True, False):
        folder = tmp_path / str(blocked)
        folder.mkdir()
        found = measure(boxlab.read_job(job_of(folder, blocked=blocked)))
        part = found.values["box"]["ql"]
        spread.append(part.u / part**2)
        assert "not identifiable" not in " ".join(found.words)  # seen red: QP beside "Told apart"
    assert spread[0] < 0.8 * spread[1], spread


def test_a_radiator_s_friction_is_told_from_the_leak(tmp_path):
    found = measure(boxlab.read_job(job_of(tmp_path, "radiator")))
    rms, box = found.values["radiator"]["rms"], found.values["box"]
    assert abs(rms - RMS) < 2.6 * rms.u and rms.u < 0.25 * RMS
    inside(box["ql"], TRUE["ql"])
    inside(box["qa"], TRUE["qa"])
    assert "qp" not in box


def test_losses_typed_into_a_job_reach_its_box(tmp_path):
    path = tmp_path / "it.job.toml"
    head = '[box]\nvolume = "20 L"\nql = "9"\nqa = "40"\nqp = "60"\n'
    port = 'kind = "ported"\nport_diameter = "60 mm"\nfb = "36 Hz"\n'
    path.write_text(head + port, encoding="utf-8")
    box = boxlab.read_job(path).box
    assert (box.ql, box.qa, box.qp) == (9.0, 40.0, 60.0)
    radiator = '[radiator]\nsd = "350 cm2"\nmms = "100 g"\ncms = "0.6 mm/N"\nrms = "1.5 N s/m"\n'
    path.write_text(head + 'kind = "radiator"\n' + radiator, encoding="utf-8")
    with pytest.raises(JobError, match="rms or qmp"):
        boxlab.read_job(path).box  # noqa: B018
