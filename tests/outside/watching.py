"""Runs in a notebook's kernel: what went wrong where nobody looks, in callbacks, tasks, threads and finalisers.

Its text is sent to the kernel before the first cell; `told` gives everything seen since, as JSON.
"""

from __future__ import annotations

import gc
import json
import logging
import sys
import threading
import traceback

SEEN: list[str] = []


def _note(where: str, error: BaseException) -> None:
    SEEN.append(f"{where}: " + "".join(traceback.format_exception(error)))


class _Log(logging.Handler):
    """Errors that a library only logs: tasks whose error nobody asked for, messages to widgets that failed."""

    def emit(self, record: logging.LogRecord) -> None:
        if record.levelno >= logging.ERROR:
            error = record.exc_info[1] if record.exc_info else None
            if error is None:
                SEEN.append(f"log of {record.name}: {record.getMessage()}")
            else:
                _note(f"log of {record.name}", error)


def start() -> None:
    """Begin to watch."""
    from IPython.core.getipython import get_ipython

    handler = _Log()
    for name in (None, "asyncio", "traitlets", "tornado.application"):
        logging.getLogger(name).addHandler(handler)
    threading.excepthook = lambda args: args.exc_value and _note("thread", args.exc_value)
    sys.unraisablehook = lambda args: args.exc_value and _note("finaliser", args.exc_value)
    shell = get_ipython()
    if shell is not None:
        plain = shell.showtraceback

        def showing(*args: object, **kwargs: object) -> None:
            if sys.exc_info()[1] is not None:
                _note("shown", sys.exc_info()[1])
            plain(*args, **kwargs)

        shell.showtraceback = showing


def told() -> str:
    """Everything seen, with what panels and desks kept."""
    from IPython.core.getipython import get_ipython
    from ipywidgets.widgets import widget

    gc.collect()  # a task tells of its error when it goes away
    shell = get_ipython()
    around = [*widget._instances.values(), *(shell.user_ns.values() if shell is not None else ())]
    kept = {id(e): e for x in around for e in (getattr(x, "errors", None), getattr(
        getattr(x, "session", None), "errors", None)) if isinstance(e, list)}
    return json.dumps([*SEEN, *(str(said) for some in kept.values() for said in some)])
