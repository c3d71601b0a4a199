"""JupyterLab of its own: a free port, folders of its own, nothing of the user's settings."""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
WAIT = 60
"""Seconds; only what never comes costs so long."""
TOKEN = "only-for-this-test"
BOOK = ".jp-NotebookPanel:not(.lm-mod-hidden)"
# run before the kernel is known, the command only asks which kernel to take
RUN_ALL = """async () => {
  const panel = window.jupyterapp.shell.currentWidget;
  await panel.sessionContext.ready;
  for (let i = 0; i < 1200 && !panel.sessionContext.session?.kernel; i++)
    await new Promise(r => setTimeout(r, 50));
  await panel.sessionContext.session.kernel.info;
  await window.jupyterapp.commands.execute('notebook:run-all-cells');
}"""
WATCH = """
import sys, types
_m = types.ModuleType("watching"); sys.modules["watching"] = _m
exec(compile({text!r}, "watching.py", "exec"), _m.__dict__)
_m.start()
del _m
"""
# runs in the kernel of the notebook in front and gives what it prints
IN_KERNEL = """async (code) => {
  const context = window.jupyterapp.shell.currentWidget.sessionContext;
  await context.ready;
  for (let i = 0; i < 1200 && !context.session?.kernel; i++) await new Promise(r => setTimeout(r, 50));
  const kernel = context.session.kernel;
  await kernel.info;
  const future = kernel.requestExecute({code, store_history: false, allow_stdin: false});
  let said = "";
  future.onIOPub = (m) => {
    if (m.header.msg_type === "stream") said += m.content.text;
    if (m.header.msg_type === "error") said += `${m.content.ename}: ${m.content.evalue}`;
  };
  await future.done;
  return said;
}"""
END_KERNEL = """async () => {
  const context = window.jupyterapp?.shell?.currentWidget?.sessionContext;
  if (context?.session) await context.shutdown();
}"""
# a person waits until the notebook is there; before its kernel answers, running it asks which kernel to take
READY = """async () => {
  const context = window.jupyterapp.shell.currentWidget.sessionContext;
  await context.ready;
  for (let i = 0; i < 1200 && !context.session?.kernel; i++) await new Promise(r => setTimeout(r, 50));
  await context.session.kernel.info;
}"""
QUIET = {"@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False}}
CHROMIUM = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
            "--disable-background-networking", "--disable-component-update")


@contextmanager
def server(folder: Path) -> Iterator[str]:
    """JupyterLab over a copy of notebooks and demo data, in ``folder/shelf``; gives the address, ends the server."""
    shelf = folder / "shelf"
    for part in ("notebooks", "data-demo"):
        shutil.copytree(ROOT / part, shelf / part, ignore=shutil.ignore_patterns(".*"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = dict(os.environ, PYTHONPATH=str(ROOT / "lib"))
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTERLAB_SETTINGS_DIR",
                 "JUPYTERLAB_WORKSPACES_DIR", "IPYTHONDIR"):
        env[name] = str(folder / name.lower())
        Path(env[name]).mkdir()
    settings = folder / "jupyter_config_dir" / "labconfig"
    settings.mkdir()
    (settings / "default_setting_overrides.json").write_text(json.dumps(QUIET), encoding="utf-8")
    address = f"http://127.0.0.1:{port}"
    with open(folder / "server.log", "wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}",
             "--ServerApp.port_retries=0", "--allow-root", f"--IdentityProvider.token={TOKEN}",
             f"--ServerApp.root_dir={shelf}", "--LabApp.expose_app_in_browser=True",
             "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None"],
            env=env, cwd=shelf, stdout=log, stderr=subprocess.STDOUT)
        try:
            _wait(address, process, folder / "server.log")
            yield address
        finally:
            process.terminate()
            try:
                process.wait(15)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(5)


def visit(page: Any, address: str, name: str, view: str = "doc") -> None:
    """Go to a notebook, alone or in the whole of JupyterLab (``lab``), and wait until it is there.

    Nothing is fetched from elsewhere.
    """
    page.route(re.compile(r"^https?://(?!127\.0\.0\.1)"), lambda route: route.abort())
    page.goto(f"{address}/{view}/tree/notebooks/{name}.ipynb?token={TOKEN}")
    if view == "lab":
        page.wait_for_selector("#jupyterlab-splash", state="detached", timeout=60_000)
    page.wait_for_selector(f"{BOOK} .jp-Cell", timeout=60_000)


def in_kernel(page: Any, code: str) -> str:
    """What a piece of code prints when the kernel of the notebook in front runs it."""
    return page.evaluate(IN_KERNEL, code)


def watch(page: Any) -> None:
    """Have the kernel note what goes wrong in it from now on."""
    text = (Path(__file__).parent / "watching.py").read_text(encoding="utf-8")
    assert in_kernel(page, WATCH.format(text=text)) == ""


def until(page: Any, ask: Callable[[], Any], wanted: Any = True) -> None:
    """Ask again until it answers so: a page is drawn in more than one turn after a change."""
    end = time.monotonic() + WAIT
    while (got := ask()) != wanted and time.monotonic() < end:
        page.wait_for_timeout(50)
    assert got == wanted, got


def went_wrong(page: Any) -> list[str]:
    """What went wrong in the kernel since `watch`: callbacks, tasks, threads, logged errors."""
    return json.loads(in_kernel(page, "import sys; print(sys.modules['watching'].told())"))


def _wait(address: str, process: subprocess.Popen, log: Path) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if process.poll() is not None:
            break
        try:
            with urllib.request.urlopen(f"{address}/api?token={TOKEN}", timeout=2):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise AssertionError(f"the server did not start: {log.read_text(errors='replace')[-2000:]}")


def copy_of(shelf: Path, book: str, name: str, **instead: str) -> str:
    """A copy of a notebook under another name, with its design file (``design``) or its seed (``seed``) another."""
    text = (shelf / "notebooks" / f"{book}.ipynb").read_text(encoding="utf-8")
    places = {r'paths.chosen(\"harbour-town.toml\")': "design", r'\"student\"': "seed"}
    for old, new in ((old, instead.get(what)) for old, what in places.items()):
        if new is not None:
            assert old in text, old
            text = text.replace(old, rf'\"{new}\"')
    (shelf / "notebooks" / f"{name}.ipynb").write_text(text, encoding="utf-8")
    return name
