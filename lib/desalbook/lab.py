"""Start the notebooks: offline, at the right place, with the user's own settings left alone."""

from __future__ import annotations

import contextlib
import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from desalbook import paths
from desalbook.problems import DesignError

__all__ = ["command", "copy", "start"]

_START = "notebooks/00-start.ipynb"
_OVERRIDES = {"@jupyterlab/apputils-extension:notification": {
    "fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": False}}


def copy(folder: str | os.PathLike) -> list[Path]:
    """Copy notebooks and demo designs into a folder; what is there already stays as it is.

    Returns
    -------
    list of Path
        The files that were written.

    Raises
    ------
    DesignError
        The folder cannot be written to.
    """
    target, written = Path(folder), []
    for part, pattern in (("notebooks", "*.ipynb"), ("data-demo", "*")):
        for source in sorted((paths.shelf() / part).glob(pattern)):
            if not source.is_file() or source.name.startswith("."):
                continue
            goal = target / part / source.name
            try:
                if goal.exists():
                    continue
                goal.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, goal)
            except OSError as error:
                raise DesignError("cannot be written to", where="folder", value=str(folder),
                                  do=f"give another folder ({error.strerror})") from None
            written.append(goal)
    return written


def command(root: Path, *, browser: bool = True, port: int | None = None, terminals: bool = True) -> list[str]:
    """The command line of the notebook server, which shows its root folder and nothing above it."""
    line = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={root}",
            f"--LabApp.default_url=/lab/tree/{_START}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None",
            "--LabApp.expose_app_in_browser=True"]  # so that a panel can run its notebook again after a restart
    if not browser:
        line.append("--no-browser")
    if not terminals:
        line.append("--ServerApp.terminals_enabled=False")
    if port is not None:
        line.append(f"--port={port}")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        line.append("--allow-root")
    return line


_PORTS = 65_535
"""Highest number of a port of TCP."""


def start(design: str | os.PathLike | None = None, *, browser: bool = True, port: int | None = None,
          folder: str | os.PathLike | None = None, terminals: bool = True) -> int:
    """Start JupyterLab with the start notebook open and wait until it ends.

    Parameters
    ----------
    design : path, optional
        Design the panel opens; the demo plant when not said.
    browser : bool
    port : int, optional
    folder : path, optional
        Work folder: notebooks and demo designs are copied into it where they are not there yet, and the server shows
        it alone. Without one, the repository, or ``desalbook`` when the kit was installed from a wheel.
    terminals : bool
        Whether the server offers a command line.

    Raises
    ------
    DesignError
        The notebook programs are not installed, or there is no such design.
    """
    if port is not None and not 1 <= port <= _PORTS:
        raise DesignError("no port", where="port", value=port, allowed=f"1 to {_PORTS}",
                          do="give a free one above 1023, or omit it")
    for module in ("jupyterlab", "ipywidgets"):
        if importlib.util.find_spec(module) is None:
            raise DesignError("the notebook programs are not installed", where="lab", value=module,
                              do='install them with: pip install "desalbook[lab]"')
    root = paths.repository() if folder is None else None
    if root is None:
        root = Path("desalbook" if folder is None else folder).resolve()
        copy(root)
        print(f"notebooks and demo designs are in {root}")
    env = dict(os.environ)
    if design is not None:
        if not Path(design).is_file():
            raise DesignError("no such file", where="lab", value=str(design),
                              do="give the path of a design file")
        with contextlib.suppress(OSError):
            try:
                Path(design).read_text(encoding="utf-8")
            except UnicodeDecodeError:
                raise DesignError("not UTF-8 text", where="lab", value=str(design),
                                  do="give the path of a design file") from None
        env[paths.DESIGN] = str(Path(design).resolve())
    with tempfile.TemporaryDirectory(prefix="desalbook-") as own:
        labconfig = Path(own) / "labconfig"
        labconfig.mkdir()
        (labconfig / "default_setting_overrides.json").write_text(json.dumps(_OVERRIDES), encoding="utf-8")
        folders = (own, env.get("JUPYTER_CONFIG_PATH", ""))
        env["JUPYTER_CONFIG_PATH"] = os.pathsep.join(x for x in folders if x)
        _reference(root / "notebooks")
        return _served(command(root, browser=browser, port=port, terminals=terminals), env, root)


def _reference(folder: Path) -> None:
    """Write the reference page beside the notebooks, which link to it, while the server starts; nobody waits for it."""
    with contextlib.suppress(OSError):
        code = "import sys; from desalbook import reference; reference.write(sys.argv[1])"
        subprocess.Popen([sys.executable, "-c", code, str(folder)],
                         stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _served(line: list[str], env: dict[str, str], root: Path) -> int:
    """Run the server until it ends; what asks this program to end asks the server first, so none is left running."""
    server = subprocess.Popen(line, env=env, cwd=root)
    before = None
    if threading.current_thread() is threading.main_thread():
        before = signal.signal(signal.SIGTERM, lambda *_: server.terminate())
    try:
        return server.wait()
    except KeyboardInterrupt:
        server.terminate()
        server.wait()
        return 0
    finally:
        if before is not None:
            signal.signal(signal.SIGTERM, before)
        if server.poll() is None:
            server.kill()
