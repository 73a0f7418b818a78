"""Set boxlab up on a fresh machine, then open the lessons or run the tests.

    python3 boxlab/start.py lessons [--job FILE] [options for JupyterLab]
    python3 boxlab/start.py tests   [options for pytest]
    python3 boxlab/start.py afresh

afresh puts an earlier learner's record and changed lessons aside, and deletes nothing.

With --job the lessons are about your own box: a job file, see `python -m boxlab job`.
The first run makes the folder .venv beside this one and installs into it, from the folder wheels
if there is one (`python -m boxlab bundle`). Later runs find that done and need no network. To
uninstall, delete this folder.

This file runs before anything is installed, so it uses the standard library alone; and it has to
be readable by a Python that is too old for the rest, in order to say so.
"""

import hashlib
import importlib.util
import os
import subprocess
import sys
import tempfile
from pathlib import Path

NEEDED = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
WHEELS = ROOT / "wheels"  # on a laptop that was set up from a stick
LONGEST = 90  # letters; what Jupyter puts below it must stay within the 260 that Windows allows
HOME = ROOT / ".home"  # not in .venv, which is made anew where it is broken
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
START_PAGE = "lessons/00-start-here.ipynb"
LAB = [
    "jupyterlab",
    # Pictures, not errors, on a page that was saved and is opened again.
    "--ServerApp.contents_manager_class=boxlab.publish.still_contents.Contents",
    # An upload of more bytes cuts the connection; the usual 10 MB is less than many a recording.
    "--ServerApp.tornado_settings={'websocket_max_message_size': 100_000_000}",
]


def say(text):
    """Print at once, so that the words come before those of the next program."""
    print(text, flush=True)


def old_python(version):
    """What to do about a Python of this version, or "" if it is new enough."""
    if tuple(version[:2]) >= NEEDED:
        return ""
    return (
        f"boxlab needs Python 3.11 or newer; this is {version[0]}.{version[1]}. Install a newer "
        "one (python.org, or your package manager), then use it by name, for example: "
        "python3.12 boxlab/start.py lessons"
    )


def missing_venv():
    """What to do about a Python that cannot make environments, or ""."""
    if importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip"):
        return ""
    return (
        "This Python cannot make an environment. On Debian and Ubuntu: "
        "sudo apt install python3-venv, then the same command again."
    )


def venv_version():
    """(major, minor) of the Python in .venv, or () where there is none that runs."""
    code = "import sys, pip; print(*sys.version_info[:2])"
    try:
        done = subprocess.run(
            [str(PYTHON), "-c", code], capture_output=True, check=True, timeout=60
        )
        return tuple(int(part) for part in done.stdout.split())
    except (OSError, ValueError, subprocess.SubprocessError):  # broken in whatever way
        return ()


def wanted(extra):
    """A fingerprint of what should be installed: it changes when the project does."""
    return hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + extra.encode()).hexdigest()


def without_network(version):
    """(options for pip, "" or what is wrong) where there are wheels for machines of this kind."""
    if not (WHEELS / "for.txt").is_file():
        return [], ""
    kind = {"win32": "windows", "darwin": "macos"}.get(sys.platform, "linux")
    rows = [row.split() for row in (WHEELS / "for.txt").read_text().splitlines() if row.strip()]
    fits = [python for system, python in rows if system == kind]
    have = "{}.{}".format(*version)
    if have in fits:
        return ["--no-index", "--find-links", str(WHEELS)], ""
    if not fits:
        return (
            [],
            f"The wheels in {WHEELS} are for {rows[0][0]}; delete that folder to use a network.",
        )
    way = f"py -{fits[0]}" if kind == "windows" else f"python{fits[0]}"
    return [], (
        f"The wheels here are for Python {', '.join(fits)}; this is {have}. Delete the folder "
        f".venv if there is one, and name such a Python: {way} boxlab/start.py lessons"
    )


def here():
    """Let the Python in .venv find boxlab where this folder is now. Returns a problem or "".

    A folder that was moved or copied needs no more than that, and no network.
    """
    code = "import sysconfig; print(sysconfig.get_paths()['purelib'])"
    try:
        done = subprocess.run(
            [str(PYTHON), "-c", code], capture_output=True, check=True, timeout=60
        )
        place = Path(done.stdout.decode().strip()) / "boxlab-is-here.pth"
        if not place.is_file() or place.read_text(encoding="utf-8") != f"{ROOT}\n":
            place.write_text(f"{ROOT}\n", encoding="utf-8")
    except (OSError, ValueError, subprocess.SubprocessError) as error:
        return f"{VENV} cannot be used ({error}). Delete that folder and try again."
    return ""


def environment():
    """The environment for Jupyter: where the home cannot be written, its files go to .home."""
    try:
        home = str(Path.home())
    except RuntimeError:
        home = "Your home"
    if os.access(home, os.W_OK):
        return dict(os.environ)
    say(f"{home} cannot be written: your answers and Jupyter's own files go to {HOME}")
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR",
             "JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR", "MPLCONFIGDIR",
             "BOXLAB_HOME")  # fmt: skip
    return {**{name: str(HOME / name.lower()) for name in names}, **os.environ}


def install(extra):
    """Make .venv and install boxlab with `extra` ("" or "[test]"). Returns a problem or ""."""
    if not venv_version():
        problem = missing_venv()
        if problem:
            return problem
        if not (VENV / "pyvenv.cfg").is_file() and any(p.is_file() for p in VENV.rglob("*")):
            return f"{VENV} holds files and is no environment. Move it, and try again."
        say(f"Making an environment in {VENV}")
        if subprocess.call([sys.executable, "-m", "venv", "--clear", str(VENV)]):
            return f"That failed. Delete {VENV} and try again."
        if not venv_version():
            return f"The Python in {VENV} does not run. Delete that folder and try again."
    if old_python(venv_version()):
        return f"{VENV} was made by a Python older than 3.11. Delete that folder and try again."

    for done in {extra, "[test]"}:  # what the tests need holds all that the lessons need
        stamp = VENV / f"boxlab-installed{done}"
        if stamp.is_file() and stamp.read_text() == wanted(done):
            return here()
    offline, problem = ([], "") if extra else without_network(venv_version())
    if problem:
        return problem
    if os.name == "nt" and len(str(ROOT)) > LONGEST:
        say(f"{ROOT} is a long path; if this fails, move the folder to C:\\boxlab and try again")
    say("Installing what boxlab needs (a few minutes the first time, under 1 GB of disk)")
    command = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.call([*command, *offline, "--editable", f"{ROOT}{extra}"]):
        return (
            "The installation stopped; pip's own message is above. The first run needs a "
            "network. The same command carries on from where it stopped."
        )
    try:
        (VENV / f"boxlab-installed{extra}").write_text(wanted(extra))
    except OSError as error:
        return f"{VENV} cannot be written ({error.strerror}). Free some room, or move this folder."
    return here()


def main(arguments):
    """Run `arguments` (a verb and what to pass on) and return the exit code."""
    verb = arguments[0] if arguments else ""
    asked = verb != "tests" and bool({"-h", "--help"} & set(arguments))
    if asked or verb not in ("lessons", "tests", "afresh"):  # nothing is installed for this
        say(__doc__)
        return 0 if asked else 2
    problem = old_python(sys.version_info) or install("[test]" if verb == "tests" else "")
    if problem:
        say(problem)
        return 1
    # The address that is printed leads to the first page too, not only the browser that opens.
    first = f"--LabApp.default_url=/lab/tree/{START_PAGE}"
    lab = [*LAB, START_PAGE, first, f"--ServerApp.root_dir={ROOT}"]
    # Files as `testpaths` has them, so that the longest do not come last, with one core idle.
    spread = ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]
    every_core = [] if "-n" in arguments else spread
    command = ["pytest", *every_core] if verb == "tests" else lab
    command = ["boxlab", "afresh"] if verb == "afresh" else command
    run = [str(PYTHON), "-m", *command, *arguments[1:]]
    # One test on each core: were each to spread its sums over all cores too, all would wait.
    alone = {f"{name}_NUM_THREADS": "1" for name in ("OPENBLAS", "OMP", "MKL")}
    env = (alone if verb == "tests" else {}) | environment()
    if verb == "tests":  # many programs start; each would compile all modules for itself again
        env.pop("PYTHONDONTWRITEBYTECODE", None)
    if verb == "lessons" and "--job" in arguments:  # the job that all lessons are about
        at = arguments.index("--job")
        if not arguments[at + 1 :] or not Path(arguments[at + 1]).is_file():
            say("--job FILE: give the job file of your own box, such as pickup.job.toml")
            return 2
        job = str(Path(arguments[at + 1]).resolve())
        refused = subprocess.call([str(PYTHON), "-m", "boxlab", "job", "open", job], env=env)
        if refused:
            return refused
        run = [str(PYTHON), "-m", *command, *arguments[1:at], *arguments[at + 2 :]]
    if verb != "tests":
        return _run(run, env)
    # Tests know nothing of the answers and the open job of whoever runs them.
    with tempfile.TemporaryDirectory(prefix="boxlab-tests-", ignore_cleanup_errors=True) as home:
        return _run(run, env | {"BOXLAB_HOME": home})


def _run(command, env):
    """Run a command to its end, and return its exit code."""
    try:
        process = subprocess.Popen(command, cwd=str(ROOT), env=env)
    except OSError as error:
        say(f"{PYTHON} does not run ({error.strerror}). Delete {VENV} and try again.")
        return 1
    while True:
        try:
            return process.wait()
        except KeyboardInterrupt:
            pass  # Ctrl-C reaches that program too, and it knows what to do with it


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
