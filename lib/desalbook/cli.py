"""The command line: the same jobs without a browser."""

from __future__ import annotations

import argparse
import atexit
import contextlib
import gc
import io
import os
import shutil
import sys
import tempfile
import threading
import traceback
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from desalbook import cli_studies as studies
from desalbook.problems import DesignError, Problem, TrailError

__all__ = ["FILES", "main"]

EXPORTS = {"tables": ("figures.csv", "checks.csv", "streams.csv", "equipment.csv", "valves.csv",
                      "energy.csv", "loads.csv", "meters.csv", "instruments.csv", "signals.csv", "costs.csv",
                      "chemicals.csv"),
           "record": ("trail.json",), "page": ("trail.html",), "workbook": ("trail.xlsx",)}
"""What ``size --out`` writes; the names are those of ``--only``."""
FILES = tuple(name for names in EXPORTS.values() for name in names)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after the program's name; those of this process, which then ends with the command, if omitted.

    Returns
    -------
    int
        0 done; 1 a check fails; 2 the design cannot be read; 3 a file changed meanwhile; 4 physics or the
        catalogue has no answer; 5 an engine refused; 70 a defect of ours, whose log file is named.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    given = _parser().parse_args(argv)
    if argv is None:
        _as_process(given.job)
    try:
        return given.run(given)
    except TrailError as problem:
        return _defect(problem)
    except Problem as problem:
        print(problem, file=sys.stderr)
        return problem.exit_code
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130
    except Exception as error:  # never a traceback on the screen
        return _defect(error)


def _as_process(job: str) -> None:
    """No search for cycles in what the system takes back at the end of the command.

    The searches took a quarter to a third of a command's time, the last of them after it was done; without them it
    holds a seventh more. What may go on for hours keeps them.
    """
    atexit.register(gc.freeze)
    if job not in ("lab", "sweep"):
        gc.disable()


def _defect(error: Exception) -> int:
    handle, name = tempfile.mkstemp(prefix="desalbook-", suffix=".log")
    with os.fdopen(handle, "w", encoding="utf-8") as log:
        log.write("".join(traceback.format_exception(error)))
    what = " ".join(str(error).split()) or type(error).__name__
    print(f"Internal error: {what} Details are in {name}.", file=sys.stderr)
    return TrailError.exit_code


class _Version(argparse.Action):
    """Prints the version; read from the installed package only when asked."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        from desalbook import __version__

        print(f"desalbook {__version__}")
        parser.exit()


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="desalbook",
        description="Packaged seawater reverse-osmosis plants: sized, explained, checked.")
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and exit")
    jobs = parser.add_subparsers(dest="job", required=True, metavar="JOB")

    def job(name: str, run: Any, says: str) -> argparse.ArgumentParser:
        one = jobs.add_parser(name, help=says, description=says[0].upper() + says[1:] + ".")
        one.set_defaults(run=run)
        return one

    size = job("size", _size, "size the plant and print a one-page summary")
    size.add_argument("file", metavar="FILE", help="design file")
    size.add_argument("--full", action="store_true", help="all values, every check and the safety notes")
    size.add_argument("--out", metavar="DIR", help="also write tables, record, page and workbook to DIR")
    size.add_argument("--only", metavar="LIST", type=_exports, default=tuple(EXPORTS),
                      help=f"write only these into DIR, separated by commas: {', '.join(EXPORTS)}")
    size.add_argument("--depth", choices=("summary", "review", "full"), default="review",
                      help="how much the page shows: two pages to sign, what a reviewer reads (if blank), every line")
    size.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    check = job("check", _check, "print the checks that do not pass; exit 1 when one fails")
    check.add_argument("file", metavar="FILE", help="design file")
    check.add_argument("--all", action="store_true", help="also what passes, and the safety notes")
    check.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    studies.add_jobs(job)
    blank = job("blank-sheet", _blank_sheet, "write an empty table for manufacturers' sheets or a pump curve")
    blank.add_argument("list", metavar="LIST", help="list of the design file, for example elements or hp_pump.curve")
    blank.add_argument("file", metavar="FILE", help="name of the table, .csv or .xlsx")
    blank.add_argument("--units", choices=("si", "us"), default="si", help="unit system of the unit column")
    sheet = job("add-sheet", _add_sheet, "write manufacturers' sheets or a pump curve of a table into a design file")
    sheet.add_argument("file", metavar="FILE", help="design file")
    sheet.add_argument("sheet", metavar="SHEET", help="table with the sheets, .csv or .xlsx")
    sheet.add_argument("--replace", action="store_true", help="replace a sheet of the same name, or the old curve")
    sheet.add_argument("--use", metavar="KEY", help="also select the first sheet, for example membrane.element")
    pack = job("pack", _pack, "make the documents of a plant: lists, tests, drawings, offer and index")
    pack.add_argument("file", metavar="FILE", help="design file")
    pack.add_argument("--out", metavar="DIR", required=True, help="folder of the pack; an existing one is replaced")
    pack.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    pack.add_argument("--paper", choices=("a4", "letter"), help="paper (default: a4 with SI, letter with US units)")
    pack.add_argument("--only", metavar="LIST", type=lambda text: [x.strip() for x in text.split(",")],
                      help="only these documents, separated by commas")
    pack.add_argument("--requirements", metavar="LIST", help="a client's list (.csv, .xlsx) for the compliance matrix")
    pack.add_argument("--since", metavar="DIR", help="folder of the pack before (default: the one in DIR)")
    pack.add_argument("--date", metavar="TEXT", default="", help="date of issue (default: offer.date of the design)")
    pack.add_argument("--no-pdf", action="store_true", help="pages alone, even where a browser could print them")
    ask = job("enquiry", _enquiry, "make data sheets into enquiries with blanks for the bidder, a file for each")
    ask.add_argument("file", metavar="FILE", help="design file")
    ask.add_argument("--out", metavar="DIR", required=True,
                     help="folder for the sheets; existing sheets are not overwritten")
    ask.add_argument("--tags", metavar="LIST", default="",
                     help="tags separated by commas, for example P-301,ER-301 (default: all)")
    ask.add_argument("--format", choices=("xlsx", "csv"), default="xlsx", help="kind of file (xlsx)")
    ask.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    bid = job("bid", _bid, "compare a filled enquiry with the plant's duty; exit 1 when it deviates")
    bid.add_argument("file", metavar="FILE", help="design file")
    bid.add_argument("bid", metavar="BID", help="the filled enquiry, .xlsx or .csv")
    bid.add_argument("--take", action="store_true", help="put what is offered into the design file as given")
    bid.add_argument("--only", metavar="LIST", default="", help="take only these fields, separated by commas")
    bid.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    steel = job("skids", _skids, "print skids, containers and checks of lifting; draw the arrangement to scale")
    steel.add_argument("file", metavar="FILE", help="design file")
    steel.add_argument("--out", metavar="DIR", help="also write drawings (.svg) and tables (.csv) to DIR")
    steel.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    again = job("recompute", _recompute, "evaluate every computed line of a record again")
    again.add_argument("file", metavar="RECORD", help="trail.json")
    proof = job("verify", _verify, "size the design of a record again and compare everything")
    proof.add_argument("file", metavar="RECORD", help="trail.json")
    proof.add_argument("design", metavar="DESIGN", help="the design file it was made of")
    proof.add_argument("--signature", metavar="FILE", help="an SSH signature of the record; RECORD.sig if blank")
    proof.add_argument("--signers", metavar="FILE", help="the signers you trust, one a line, with their public keys")
    proof.formatter_class = argparse.RawDescriptionHelpFormatter
    proof.epilog = ("A signature is optional and made with a key of your own:\n"
                    "  sign    ssh-keygen -Y sign -f KEY -n desalbook RECORD   (writes RECORD.sig)\n"
                    '  trust   a line of the file of signers: NAME namespaces="desalbook" ssh-ed25519 AAAA...\n'
                    "  verify  desalbook verify RECORD DESIGN --signers FILE")
    both = job("compare", _compare, "compare two designs or records: what changed, and why checks did")
    both.add_argument("old", metavar="OLD", help="design file or trail.json")
    both.add_argument("new", metavar="NEW", help="design file or trail.json")
    both.add_argument("--full", action="store_true", help="also every other value that changed")
    both.add_argument("--out", metavar="FILE", help="also one HTML page of it, which needs nothing but itself")
    both.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    mark = job("mark", _mark, "accept, question or reject one line; the mark is kept beside the file")
    mark.add_argument("file", metavar="FILE", help="design file or trail.json")
    mark.add_argument("id", metavar="ID", help="line of the trail")
    mark.add_argument("verdict", metavar="VERDICT", choices=("accept", "question", "reject"),
                      help="accept, question or reject")
    mark.add_argument("--by", metavar="INITIALS", required=True, help="reviewer's initials")
    mark.add_argument("--note", metavar="TEXT", default="", help="reason; required with question and reject")
    marks = job("marks", _marks, "print the review marks of a design or record and how far the review has come")
    marks.add_argument("file", metavar="FILE", help="design file or trail.json")
    marks.add_argument("--units", choices=("si", "us"), default="si", help="unit system")
    reference = job("reference", _reference, "write every function, relation, key, table and check as one page")
    reference.add_argument("folder", metavar="DIR", help="folder for reference.html")
    lab = job("lab", _lab, "open the notebooks")
    lab.add_argument("file", metavar="FILE", nargs="?", help="design file (default: the demo plant)")
    lab.add_argument("--copy-only", metavar="DIR", help="only copy notebooks and demo designs into DIR")
    lab.add_argument("--folder", metavar="DIR", help="work in DIR: notebooks are copied into it, nothing else is shown")
    lab.add_argument("--no-terminals", action="store_true", help="offer no command line in the browser")
    lab.add_argument("--no-browser", action="store_true", help="start the server and print its address")
    lab.add_argument("--port", type=int, metavar="N", help="port of the server")
    return parser


def _exports(text: str) -> tuple[str, ...]:
    """Names of exports from a list with commas."""
    names = [name.strip() for name in text.split(",")]
    wrong = next((name for name in names if name not in EXPORTS), None)
    if wrong is not None:
        raise argparse.ArgumentTypeError(f"{wrong!r} is not an export; allowed: {', '.join(EXPORTS)}")
    return tuple(name for name in EXPORTS if name in names)


def _blank_sheet(given: argparse.Namespace) -> int:
    from desalbook import api

    made = api.blank_sheet(given.list, given.file, given.units)
    each = "row for each point or entry" if "." in given.list else "column for each sheet"
    print(f"written: {made}. Fill in a {each}, then: desalbook add-sheet DESIGN {made.name}")
    return 0


def _add_sheet(given: argparse.Namespace) -> int:
    from desalbook import api
    from desalbook.design.sheets import read_sheets

    was = api.read(given.file)
    found = read_sheets(given.sheet)
    names = [sheet["name"].text for sheet in found.sheets if "name" in sheet]
    design = api.add_sheets(was, given.sheet, replace=given.replace)
    if given.use:
        design = design.with_value(given.use, names[0])
    api.write(design, given.file, expected=was.hash)
    used = f"; {given.use} is {names[0]}" if given.use else ""
    print(f"written to {given.file}: {', '.join(f'{found.list}[{name}]' for name in names)}{used}")
    return 0


def _enquiry(given: argparse.Namespace) -> int:
    from desalbook.plant.bids import write_enquiry
    from desalbook.units.fieldmeta import offered

    plant = _plant(given.file)
    sheets, wanted = plant.data_sheets(), {x.strip() for x in given.tags.split(",") if x.strip()}
    known = {s.tag for s in sheets}
    for tag in sorted(wanted - known):
        raise DesignError("no data sheet has this tag", where="tags", value=tag, do=offered(tag, known))
    folder = Path(given.out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DesignError("cannot be written to", where="out", value=given.out,
                          do=f"give another folder ({error.strerror})") from None
    chosen = [s for s in sheets if not wanted or s.tag in wanted]
    there = [s.number for s in chosen if (folder / f"{s.number}.{given.format}").exists()]
    if there:  # all files or none
        raise DesignError("holds sheets already", where="out", value=", ".join(there[:3]),
                          do="give another folder, or remove them")
    for sheet in chosen:
        write_enquiry(sheet, folder / f"{sheet.number}.{given.format}", given.units, plant.project.get("name", ""))
    print(f"{len(chosen)} {'sheet' if len(chosen) == 1 else 'sheets'} written to {folder}. A bidder fills in the "
          f"column offered; then: desalbook bid {Path(given.file).name} SHEET")
    return 0


def _skids(given: argparse.Namespace) -> int:
    from desalbook import summary
    from desalbook.drawings import arrangement, layout_dxf
    from desalbook.drawings.drawing import Drawing

    plant, units = _plant(given.file), given.units
    print(summary.skids_text(plant, units, _ink()), end="")
    if given.out:
        folder = Path(given.out)
        drawn = {"plan": arrangement.plan(plant, units), "elevation": arrangement.elevation(plant, units),
                 **{tag: arrangement.skid(plant, tag, units) for tag in plant.skids["tag"]}}
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for name, html in drawn.items():
                Drawing(html, name).save(folder / f"{name}.svg")
            if layout_dxf.available():
                layout_dxf.write_layout(plant, folder / "arrangement.dxf", _layout_head(plant), units)
            for name in ("weights", "line_list", "skids", "skid_items", "arrangement", "containers"):
                _inert(getattr(plant, name)(units)).to_csv(folder / f"{name}.csv", index=False, lineterminator="\n",
                                                           encoding="utf-8")
        except OSError as error:
            raise DesignError("cannot be written to", where="out", value=given.out,
                              do=f"give another folder ({error.strerror})") from None
        print(f"\nwritten to {folder}: {len(drawn)} drawings and 6 tables"
              + (", and the arrangement as DXF" if layout_dxf.available() else f"\n{layout_dxf.MISSING}"))
    failing = [x for x in plant.fabrication.verdicts.values() if x.more["verdict"] == "fails"]
    return 1 if failing else 0


def _layout_head(plant: Any) -> dict[str, str]:
    """Words of the title block of a layout that is drawn by itself."""
    of = plant.project
    return {"PROJECT": of.get("name", ""), "CLIENT": of.get("client", ""), "REVISION": of.get("revision", ""),
            "STATUS": "For review", "PREPARED": of.get("made_by", ""), "CHECKED": of.get("checked_by", ""),
            "DESIGN": plant.design.hash[:16]}


def _bid(given: argparse.Namespace) -> int:
    from desalbook import api, summary
    from desalbook.plant.bids import compare_bid, read_bid, take_bid

    plant = _plant(given.file)
    bid, sheets = read_bid(given.bid), plant.data_sheets()
    found = compare_bid(sheets, bid)
    print(summary.bid_text(bid, found, given.units, _ink()), end="")
    if given.take:
        only = [x.strip() for x in given.only.split(",") if x.strip()] or None
        was = plant.design
        api.write(take_bid(was, sheets, bid, only), given.file, expected=was.hash)
        print(f"taken into {given.file} as given; size it again to see what follows")
    return 1 if any(x.verdict == "deviates" for x in found) else 0


def _plant(file: str) -> Any:
    from desalbook import api

    with _told(f"sizing {Path(file).name}") as how_far:
        return api.size(api.read(file), progress=how_far)


def _size(given: argparse.Namespace) -> int:
    from desalbook import summary
    from desalbook.trail.seal import content_hash

    if given.out is None and given.only != tuple(EXPORTS):
        raise DesignError("no folder is given for these exports", where="only", value=",".join(given.only),
                          do="give a folder with --out DIR")
    _may_be_folder(given.out)
    plant = _plant(given.file)
    trail = plant.trail.with_marks(given.file)
    if given.out:
        with _told(f"writing to {given.out}"):
            _write_all(plant, trail, Path(given.out), given.units, given.only, given.depth)
    print((summary.full if given.full else summary.text)(plant, given.units, _ink()), end="")
    if given.out:
        written = [file for name in given.only for file in EXPORTS[name]]
        print(f"\nwritten to {given.out}: {', '.join(written)}")
        print(f"record SHA-256 {content_hash(trail.record())}")
    return 0


def _may_be_folder(name: str | None, where: str = "out") -> None:
    """Refuse what can be no folder before a plant is sized for it."""
    if name is None:
        return
    if not name.strip() or not name.isprintable():
        raise DesignError("not a name of a folder", where=where, value=name, do="name a folder")
    if os.path.isfile(name):
        raise DesignError("cannot be written to", where=where, value=name, do="give another folder (this is a file)")


def _water_line(plant: Any, units: str) -> str:
    """The water line as it stands on paper; empty for a plant that has none to draw."""
    from desalbook.drawings.water_line import plant as water_line

    return water_line.picture(plant, units, width=880) if plant.stops else ""


def _write_all(plant: Any, trail: Any, folder: Path, units: str, only: Sequence[str], depth: str) -> None:
    """All files or none: made in a folder beside, then moved."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        half = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    except OSError as error:
        raise DesignError("cannot be written to", where="out", value=str(folder),
                          do=f"give another folder ({error.strerror})") from None
    try:
        if "tables" in only:
            for name, frame in (("figures", plant.figures(units).reset_index()), ("checks", plant.checks_in(units)),
                                *((name, getattr(plant, name)(units)) for name in (
                                    "streams", "equipment", "valves", "energy", "loads", "meters", "instruments",
                                    "signals", "costs", "chemicals"))):
                _inert(frame).to_csv(half / f"{name}.csv", index=False, lineterminator="\n", encoding="utf-8")
        if "record" in only:
            trail.record(half / "trail.json")
        if "page" in only:
            trail.page(half / "trail.html", units, depth=depth, picture=_water_line(plant, units))
        if "workbook" in only:
            trail.workbook(half / "trail.xlsx", units, depth)
        folder.mkdir(exist_ok=True)
        for name in (file for export in only for file in EXPORTS[export]):
            os.replace(half / name, folder / name)
    except OSError as error:
        raise DesignError("cannot be written to", where="out", value=str(folder),
                          do=f"give another folder ({error.strerror})") from None
    finally:
        shutil.rmtree(half, ignore_errors=True)


def _inert(frame: Any) -> Any:
    """The table with no text that a spreadsheet program would take for a formula when it opens the file."""
    return frame.map(lambda v: f"'{v}" if isinstance(v, str) and v[:1] in ("=", "+", "-", "@", "\t", "\r") else v)


def _check(given: argparse.Namespace) -> int:
    from desalbook import summary

    plant = _plant(given.file)
    print(summary.checks_text(plant, given.units, given.all, _ink()), end="")
    return 1 if any(x.more["verdict"] == "fails" for x in plant.verdicts.values()) else 0


_CODES = {"bold": "1", "fails": "1;31", "review": "35", "marginal": "33", "passes": "32", "quiet": "2"}


def _ink() -> Any:
    """Bold and colour where a terminal asks for it, plain text otherwise."""
    from desalbook.one_page import plain

    if not sys.stdout.isatty() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return plain
    return lambda text, role: f"\033[{_CODES[role]}m{text}\033[0m" if role in _CODES else text


@contextlib.contextmanager
def _told(what: str) -> Iterator[Callable[[str, int, int], object]]:
    """Say on a terminal how long a job has taken, from the second second on; gives what tells how far it is."""
    far, widest = [""], [len(what) + 12]

    def how_far(of: str, tried: int, most: int) -> None:
        far[0] = f": {of[:1].lower()}{of[1:]}, {tried} of at most {most} tried"

    if not sys.stderr.isatty():
        yield how_far
        return
    done = threading.Event()

    def tell() -> None:
        passed = 2
        while not done.wait(2 if passed == 2 else 1):
            said = f"{what}, {passed} s{far[0]}"
            widest[0] = max(widest[0], len(said))
            print(f"\r{said:<{widest[0]}}", end="", file=sys.stderr, flush=True)
            passed += 1

    teller = threading.Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield how_far
    finally:
        done.set()
        teller.join()
        print("\r" + " " * widest[0] + "\r", end="", file=sys.stderr, flush=True)


_TOLD = 40  # differences printed; a person reads the first ones, which are the causes


def _differences(found: list[Any]) -> None:
    for difference in found[:_TOLD]:
        print(difference)
    if len(found) > _TOLD:
        print(f"and {len(found) - _TOLD} more")


def _pack(given: argparse.Namespace) -> int:
    from desalbook.drawings import layout_dxf
    from desalbook.pack import write_pack

    _may_be_folder(given.out)
    plant = _plant(given.file)
    with _told(f"writing to {given.out}"):
        made = write_pack(plant, given.out, given.units, given.paper, only=given.only, since=given.since,
                          requirements=given.requirements,
                          pdf=not given.no_pdf, date=given.date)
    entries, head = made.index["documents"], made.index["head"]
    print(f"{head['project']}, revision {head['revision']}: {head['status'].lower()}; design SHA-256 {head['hash']}")
    words = {"unchanged": "unchanged", "changed": "issued anew", "new": "new"}
    for key, e in entries.items():
        print(f"  {e['number']}  {e['title']} ({key})" + (f": {words[e['state']]}" if made.index["since"] else ""))
    reasons: dict[str, list[str]] = {}
    for e in entries.values():
        if e["state"] == "changed" and e["why"]:
            reasons.setdefault(e["why"], []).append(e["number"])
    for why, numbers in reasons.items():
        print(f"Issued anew because of {why}: {', '.join(numbers)}")
    print(f"written to {given.out}: {len(made.files)} files; begin with index.html")
    if "arrangement" in entries and not any(name.endswith(".dxf") for name in made.files):
        print(layout_dxf.MISSING)
    if not given.no_pdf and "index.pdf" not in made.files:
        print("No browser was found to print PDF; the pages print as well from any browser.")
    return 0


def _recompute(given: argparse.Namespace) -> int:
    from desalbook.audit import recompute
    from desalbook.audit.verify import derived, out_of_reach
    from desalbook.trail import record
    from desalbook.trail.seal import content_hash

    held = record.read(given.file)
    got, found = recompute(held), derived(held)
    print(f"record SHA-256 {content_hash(held) or 'is missing'}")
    print(f"{got.count} computed lines re-evaluated; largest difference {got.worst:.2g}"
          + (f" at {got.id}" if got.worst > 0 else "") + f"; {got.checks} verdicts checked")
    _differences(found)
    if not found:
        print("Not derived again:")
        for what, lines in out_of_reach(held).items():
            print(f"  {lines} lines: {what}")
    good = got.holds and not found
    print("the record agrees with itself" if good else "the record does not agree with itself")
    return 0 if good else 1


def _verify(given: argparse.Namespace) -> int:
    from desalbook.audit.signature import signature
    from desalbook.audit.verify import derived, verified
    from desalbook.trail import record
    from desalbook.trail.seal import content_hash

    held = record.read(given.file)
    signed = signature(given.file, given.signature, given.signers)
    print(f"record SHA-256 {content_hash(held)}")
    if signed is not None:
        print(signed.what)
    found = verified(held, _plant(given.design).trail.with_marks(given.design).record())
    own = [d for d in derived(held) if d.where not in {x.where for x in found}]
    _differences([*found, *own])
    print("the record is that of this design" if not found and not own else "the record is not that of this design")
    return 1 if found or own or (signed is not None and not signed.good) else 0


def _record_of(file: str) -> dict[str, Any]:
    """The record in a file, or that of the plant of a design file."""
    from desalbook.trail import record

    return record.read(file) if file.lower().endswith(".json") else _plant(file).record


def _lines_of(file: str) -> dict[str, Any]:
    """The record as far as a comparison reads it: of a design file without tables and seal, in half the time."""
    from desalbook import api, plant
    from desalbook.trail import record
    from desalbook.trail.cancellation import telling

    if file.lower().endswith(".json"):
        return record.read(file)
    design = api.read(file)
    with _told(f"sizing {Path(file).name}") as how_far, telling(how_far):
        return record.to_record(plant.size(design).ledger, design.text, project=api.head(design), with_text=True,
                                sealed=False)


@contextlib.contextmanager
def _processes() -> Iterator[Any]:
    """Processes that share plants with this one, on up to four cores; None where a process does not start at once.

    A comparison of ten inputs sizes 26 plants: on two cores they take half of the time.
    """
    import multiprocessing
    import threading
    from concurrent.futures import ProcessPoolExecutor

    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    if cores < 2 or not sys.platform.startswith("linux") or threading.active_count() > 1:
        yield None
        return
    shared = ProcessPoolExecutor(min(cores, 4) - 1, multiprocessing.get_context("fork"))
    try:
        yield shared
    finally:
        shared.shutdown(cancel_futures=True)


def _compare(given: argparse.Namespace) -> int:
    from desalbook import api
    from desalbook.audit import compare
    from desalbook.audit.causes import Causes
    from desalbook.audit.page.summary import VALUES
    from desalbook.study.progress import Teller

    teller: list[Teller] = []

    def told(done: int, total: int) -> None:
        if not teller:
            teller.append(Teller(total, "plants between the two"))
        teller[0].total = total
        if done < total:  # pairs come one by one on top: the line ends when the words are there
            teller[0](done)

    names = Path(given.old).name, Path(given.new).name
    if names[0] == names[1]:
        names = str(given.old), str(given.new)
    # a slip in the second is reported before the first is sized
    designs = [api.read(file) for file in (given.old, given.new) if not file.lower().endswith(".json")]
    tell = told if sys.stderr.isatty() else None
    with _processes() as shared:
        begun = None
        if shared is not None and len(designs) == 2:
            begun = Causes(*designs, values=VALUES, units=given.units, told=tell, executor=shared)
            begun.begin()
        old = _lines_of(given.old)
        new = _record_of(given.new) if given.out else _lines_of(given.new)  # a page names the record's digest
        made = compare(old, new, given.units, names, tell, shared, begun)
        if given.out:
            made.page(given.out)
        text = made.text(given.full)
    for one in teller:
        one(one.total)
    print(text, end="")
    if given.out:
        print(f"\nwritten to {given.out}")
    return 0


def _mark(given: argparse.Namespace) -> int:
    from desalbook.audit import Marks
    from desalbook.summary import PAST

    marks = Marks(given.file)
    made = marks.mark(_record_of(given.file), given.id, given.verdict, given.by, given.note)
    print(f"{made['id']}: {PAST[given.verdict]} by {made['by']}, kept in {marks.path.name}")
    return 0


def _marks(given: argparse.Namespace) -> int:
    from desalbook.audit import Marks
    from desalbook.summary import review

    marks = Marks(given.file)
    print(review(marks, _record_of(given.file), given.units), end="")
    return 0


def _reference(given: argparse.Namespace) -> int:
    from desalbook import reference

    _may_be_folder(given.folder, "folder")
    print(f"written: {reference.write(given.folder)}")
    return 0


def _lab(given: argparse.Namespace) -> int:
    from desalbook import lab

    if given.copy_only:
        written = lab.copy(given.copy_only)
        print(f"{len(written)} files copied to {given.copy_only}; existing files were not changed")
        return 0
    return lab.start(given.file, browser=not given.no_browser, port=given.port, folder=given.folder,
                     terminals=not given.no_terminals)


if __name__ == "__main__":
    sys.exit(main())
