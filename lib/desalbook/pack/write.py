"""The pack on disk: pages, tables, record and index; what is the same as in the pack before keeps its revision.

A document is issued anew when anything it says has changed; otherwise its file, its revision and its date stay what
they were, to the byte. Why a document changed is tested: each changed input is taken alone into the old design, the
plant is sized, and the documents made of it are laid beside the old ones.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desalbook.audit import Marks
from desalbook.audit.causes import Causes
from desalbook.audit.marks import ROLES
from desalbook.drawings import layout_dxf
from desalbook.pack import printing as pages
from desalbook.pack.document import Column, Document, Heading, Paragraph, Points, Table
from desalbook.pack.pdf import printed
from desalbook.pack.register import documents
from desalbook.problems import DesignError, Problem

__all__ = ["INDEX", "Issued", "review_state", "write_pack"]

INDEX = "index.json"
_FORMAT = 1
_PAGES, _TABLES, _DRAWINGS = "documents", "tables", "drawings"
LAYOUT = "304-arrangement.dxf"
"""The arrangement for the layout engineer."""


@dataclass(frozen=True)
class Issued:
    """What was written: the folder, its index as data, and the names of the files."""

    folder: Path
    index: dict[str, Any]
    files: tuple[str, ...]

    @property
    def changed(self) -> dict[str, str]:
        """Documents that are new or issued anew, each with the reason."""
        return {key: d["why"] for key, d in self.index["documents"].items() if d["state"] != "unchanged"}


def review_state(plant: Any, record: Mapping[str, Any], beside: Path | None) -> str:
    """"Reviewed" where a person checked the design and nothing that asks for a person is open; else "For review".

    A sign-off that holds for this calculation, or the design (project.checked_by), names who checked it; each check
    that fails or asks for review is accepted by a mark that still holds, and no mark is questioned, rejected or stale.
    """
    if beside is None:
        return pages.STATUS["review"]
    marks = Marks(beside)
    if not plant.project.get("checked_by") and not _signers(marks, record):
        return pages.STATUS["review"]
    states = marks.states(record)
    open_marks = any(state in ("questioned", "rejected", "stale") for state in states.values())
    asked = [id for id, x in plant.verdicts.items() if x.more["verdict"] in ("fails", "review")]
    accepted = bool(states) and any(s == "accepted" for s in states.values())
    done = accepted and not open_marks and all(states.get(id) == "accepted" for id in asked)
    return pages.STATUS["reviewed" if done else "review"]


def _signers(marks: Marks, record: Mapping[str, Any]) -> list[str]:
    """Who signed this very calculation."""
    return [str(s["by"]) for s in marks.signed(record).to_dict("records") if s["holds"]]


def _review(record: Mapping[str, Any], beside: Path | None) -> dict[str, Any]:
    """Marks and sign-offs as the index tells them."""
    if beside is None:
        return {"lines": {}, "signed": []}
    marks = Marks(beside)
    states = list(marks.states(record).values())
    return {"lines": {state: states.count(state) for state in ("accepted", "questioned", "rejected", "stale")},
            "signed": [{"by": s["by"], "role": ROLES.get(s["role"], s["role"]), "time": s["time"][:10],
                        "record": s["record"][:16], "holds": "yes" if s["holds"] else s["why"],
                        "note": "; ".join(filter(None, (*(f"open then: {x}" for x in s["open"]), s["note"])))}
                       for s in marks.signed(record).to_dict("records")]}


def write_pack(plant: Any, folder: str | os.PathLike, units: str = "si", paper: str | None = None, *,
               only: Iterable[str] | None = None, requirements: str | os.PathLike | None = None,
               since: str | os.PathLike | None = None, pdf: bool = True, date: str = "") -> Issued:
    """Write the pack of a plant into a folder, all of it or nothing.

    Parameters
    ----------
    plant : Plant
    folder : path
        Where a pack stands already, it is the one before, and gives way.
    units : {"si", "us"}
    paper : {"a4", "letter"}, optional
        A4 with SI, Letter with US units if blank.
    only : iterable of str, optional
        Keys of the documents; all if blank.
    requirements : path, optional
        A client's list, for the compliance matrix.
    since : path, optional
        Folder of the pack before, where that is another.
    pdf : bool
        Also print each page, where a browser is there.
    date : str
        Date of issue; that of the design (offer.date) if blank.

    Returns
    -------
    Issued

    Raises
    ------
    DesignError
        A folder that cannot be written to, or is no pack.
    """
    folder = Path(folder)
    before = _before(Path(since) if since is not None else folder, needed=since is not None)
    if folder.is_dir() and not (folder / INDEX).is_file() and any(folder.iterdir()):
        raise DesignError("is not empty and holds no pack", where="out", value=str(folder), do="give another folder")
    paged = only is None or "calculation" in (only := tuple(only))
    made = documents(plant, units, only, requirements, paper=paper, paged=paged)
    record = plant.record
    beside = Path(plant.design.path) if plant.design.path is not None else None
    signers = _signers(Marks(beside), record) if beside is not None else []
    head = pages.Head(
        project=plant.project.get("name", ""), client=plant.project.get("client", ""),
        revision=plant.project.get("revision", ""), date=date or _date(plant), made_by=plant.project.get("made_by", ""),
        checked_by=plant.project.get("checked_by", "") or ", ".join(dict.fromkeys(signers)),
        status=review_state(plant, record, beside),
        hash=plant.design.hash)
    index = _index(plant, made, head, units, paper, before, requirements)
    index["review"] = _review(record, beside)
    if before is not None and not index["gone"] and all(
            before.get(k) == index[k] for k in ("head", "own", "review")) and all(
            d["state"] == "unchanged" for d in index["documents"].values()):
        index = before  # the same pack once more: nothing is issued anew
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        half = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    except OSError as error:
        raise _cannot(folder, error) from None
    try:
        files = _write(half, plant, made, index, head, units, paper, pdf)
        _swap(half, folder)
    except OSError as error:
        raise _cannot(folder, error) from None
    finally:
        shutil.rmtree(half, ignore_errors=True)
    return Issued(folder, index, files)


def _cannot(folder: Path, error: OSError) -> DesignError:
    return DesignError("cannot be written to", where="out", value=str(folder),
                       do=f"give another folder ({error.strerror})")


def _date(plant: Any) -> str:
    return str(plant["offer.date"]) if "offer.date" in plant.ids else ""


def _before(folder: Path, needed: bool) -> dict[str, Any] | None:
    """The index of the pack before; None where there is none."""
    file = folder / INDEX
    if not file.is_file():
        if needed:
            raise DesignError("holds no pack", where="since", value=str(folder),
                              do=f"give the folder with the {INDEX} of the pack before")
        return None
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
        if found["format"] != _FORMAT or not isinstance(found["documents"], dict):
            raise KeyError
    except (ValueError, KeyError, TypeError):
        raise DesignError("is not the index of a pack of this kit", where="since", value=str(file),
                          do="give another folder") from None
    return found


def _print(document: Document, units: str) -> str:
    """Digest of all that a document says, with what the file beside it says."""
    said = "\n".join((document.number, document.title, pages.body(document, units), *document.reads,
                      document.whole() if document.whole is not None else ""))
    return hashlib.sha256(said.encode()).hexdigest()


def _index(plant: Any, made: Sequence[Document], head: pages.Head, units: str, paper: str | None,
           before: Mapping[str, Any] | None, requirements: str | os.PathLike | None) -> dict[str, Any]:
    """The index as data: each document with its revision, whether it changed, and why."""
    own = {k: v for k, v in vars(head).items() if k not in ("revision", "date", "hash")} | {
        "units": units, "paper": paper or ""}
    was = before["documents"] if before else {}
    heads_differ = before is not None and before["own"] != own
    prints = {d.key: _print(d, units) for d in made}
    causes = _causes(plant, made, units, prints, before, requirements, paper) if before else {}
    found: dict[str, Any] = {}
    for d in made:
        old = was.get(d.key)
        entry = {"number": d.number, "title": d.title, "group": d.group, "file": f"{d.number}-{d.key}.html",
                 "print": prints[d.key], "tables": {t.title: t.plain() for t in d.tables()}}
        if old is not None and old["print"] == prints[d.key] and not heads_differ:
            entry |= {k: old[k] for k in ("revision", "date", "hash")} | {"state": "unchanged", "why": "", "what": ""}
        else:
            same = old is not None and old["print"] == prints[d.key]
            why = "" if before is None else "not in the pack before" if old is None else (
                _head_words(before["own"], own) if same else causes.get(d.key, "not tested"))
            entry |= {"revision": head.revision, "date": head.date, "hash": head.hash, "why": why,
                      "state": "new" if old is None else "changed",
                      "what": "" if old is None or same else _what(old["tables"], entry["tables"])}
        found[d.key] = entry
    return {"format": _FORMAT, "kit": plant.record.get("kit", ""), "own": own,
            "head": vars(head), "design": plant.design.text, "documents": found,
            "gone": [{"number": d["number"], "title": d["title"]} for key, d in was.items() if key not in found],
            "since": {} if before is None else {k: before["head"][k] for k in ("revision", "date", "hash")},
            "changes": _changes(plant, units, before)}


def _head_words(old: Mapping[str, str], new: Mapping[str, str]) -> str:
    words = {"made_by": "prepared by", "checked_by": "checked by"}
    return "; ".join(f"{words.get(k, k)}: {old.get(k) or 'blank'}, now {new[k] or 'blank'}" for k in new
                     if old.get(k) != new[k])


def _between(plant: Any, units: str, before: Mapping[str, Any]) -> Causes | None:
    from desalbook.design import from_text

    try:
        old = from_text(before["design"], plant.design.path)
    except Problem:
        return None  # written by another kit
    return Causes(old, plant.design, units=units)


def _changes(plant: Any, units: str, before: Mapping[str, Any] | None) -> list[dict[str, str]]:
    between = _between(plant, units, before) if before else None
    return [] if between is None else [{"key": c.id, "title": c.title, "old": c.old, "new": c.new}
                                       for c in between.changes]


def _causes(plant: Any, made: Sequence[Document], units: str, prints: Mapping[str, str],
            before: Mapping[str, Any], requirements: str | os.PathLike | None, paper: str | None) -> dict[str, str]:
    """Why each document changed: the inputs that, each alone in the old design, change it as well.

    The calculation bears the hash of the design: every change of an input is a change of it.
    """
    was = before["documents"]
    changed = [d.key for d in made if d.key in was and was[d.key]["print"] != prints[d.key]]
    between = _between(plant, units, before)
    if not changed or between is None:
        return {}
    changes = between.changes
    if not changes:
        return {key: "other review marks, or another version of the kit" if key in ("calculation", "equipment") else
                "another list of requirements, or another version of the kit" for key in changed}
    words = [f"{c.title} ({c.id}): {c.old}, now {c.new}" for c in changes]
    if len(changes) == 1:
        return dict.fromkeys(changed, words[0])
    found: dict[str, list[str]] = {key: [] for key in changed if key != "calculation"}
    listed = [d.key for d in made]
    for n, _ in enumerate(changes if found else ()):
        for key, digest in _prints_of(between, n, units, tuple(found), requirements, listed, paper).items():
            if digest != was[key]["print"]:
                found[key].append(words[n])
    if "calculation" in changed:
        found["calculation"] = words
    return {key: "; ".join(some) or f"these together: {'; '.join(words)}" for key, some in found.items()}


def _prints_of(between: Causes, n: int, units: str, keys: Sequence[str],
               requirements: str | os.PathLike | None, listed: Sequence[str], paper: str | None) -> dict[str, str]:
    """Digests of the documents of the old design with one change; none where no plant can have it alone."""
    from desalbook import api

    try:
        plant = api.size(between.design((n,)))
        return {d.key: _print(d, units) for d in documents(
            plant, units, keys, requirements, paper=paper, paged="calculation" in listed and "equipment" in keys,
            listed=listed)}
    except Problem:
        return {}


def _what(old: Mapping[str, Mapping[str, list[str]]], new: Mapping[str, Mapping[str, list[str]]]) -> str:
    """What is different in the tables of a document, in words."""
    added, gone, other = [], [], []
    for title in dict.fromkeys((*old, *new)):
        a, b = old.get(title, {}), new.get(title, {})
        added += [k for k in b if k not in a]
        gone += [k for k in a if k not in b]
        other += [k for k in b if k in a and a[k] != b[k]]
    said = [f"{word} {_some(rows)}" for word, rows in (("added", added), ("omitted", gone), ("other values", other))
            if rows]
    return "; ".join(said) or "other words"


def _some(rows: Sequence[str], most: int = 6) -> str:
    shown = ", ".join(dict.fromkeys(rows[:most]))
    return shown if len(rows) <= most else f"{shown} and {len(rows) - most} more"


def _write(half: Path, plant: Any, made: Sequence[Document], index: Mapping[str, Any], head: pages.Head, units: str,
           paper: str | None, pdf: bool) -> tuple[str, ...]:
    (half / _PAGES).mkdir()
    (half / _TABLES).mkdir()
    for d in made:
        entry = index["documents"][d.key]
        own = pages.Head(**(vars(head) | {k: entry[k] for k in ("revision", "date", "hash")}))
        _text(half / _PAGES / entry["file"], pages.page(d, own, units, paper))
        for n, table in enumerate(d.tables()):
            end = "" if n == 0 else f"-{n + 1}"
            _text(half / _TABLES / f"{d.number}-{d.key}{end}.csv", _csv(table, units))
        if d.key == "arrangement" and layout_dxf.available():
            (half / _DRAWINGS).mkdir()
            words = {"PROJECT": own.project, "CLIENT": own.client, "NUMBER": d.number, "REVISION": own.revision,
                     "DATE": own.date or "not dated", "STATUS": own.status, "PREPARED": own.made_by,
                     "CHECKED": own.checked_by, "DESIGN": own.hash[:16]}
            layout_dxf.write_layout(plant, half / _DRAWINGS / LAYOUT, words, units)
    plant.trail.record(half / "record.json")
    _text(half / INDEX, json.dumps(index, indent=1, ensure_ascii=False) + "\n")
    front = pages.page(index_document(index, layout_dxf.available()), head, units, paper)
    _text(half / "index.html", front)
    if pdf:  # before the index has ways to the files: in print they would name this folder
        printed([half / "index.html", *(half / _PAGES / e["file"] for e in index["documents"].values())])
    _text(half / "index.html", _linked(front, index))
    return tuple(sorted(str(p.relative_to(half)) for p in half.rglob("*") if p.is_file()))


def _linked(text: str, index: Mapping[str, Any]) -> str:
    """Numbers of documents in the index as ways to their files."""
    for entry in index["documents"].values():
        text = text.replace(f"<td>{entry['number']}</td>",
                            f'<td><a href="{_PAGES}/{entry["file"]}">{entry["number"]}</a></td>')
    return text


def index_document(index: Mapping[str, Any], layout: bool = False) -> Document:
    """The index as a document: what there is, what changed since the pack before, and why.

    Parameters
    ----------
    index : mapping
    layout : bool
        The arrangement is there as DXF too.
    """
    entries = list(index["documents"].values())
    columns = (Column("number", "No.", width=0.5), Column("title", "Document", width=2.4),
               Column("revision", "Revision", width=0.7), Column("date", "Date", width=0.8),
               Column("hash", "Of design", width=1.3), Column("state", "Since the pack before", width=1.1))
    words = {"unchanged": "unchanged", "changed": "issued anew", "new": "new"}
    rows = [{**{k: e[k] for k in ("number", "title", "revision")}, "date": e["date"] or "not dated",
             "hash": e["hash"][:16], "state": words[e["state"]]} for e in entries]
    if not index["since"]:
        columns = columns[:-1]
    blocks: list[Any] = [Heading("Documents"), Table("Documents", columns, rows, ("number",))]
    if "arrangement" in index["documents"]:
        blocks.append(Paragraph(f"The arrangement is also in {_DRAWINGS}/{LAYOUT}: plan and elevations at full size in "
                                "millimetres, each unit a block with its tag." if layout else layout_dxf.MISSING))
    if index["head"]["status"] == pages.STATUS["review"]:
        blocks.insert(0, Paragraph("This pack is for review: a person has not yet checked the design, or a check that "
                                   "asks for a person is open. It is not for purchase or fabrication."))
    blocks += _reviewed(index)
    if index["since"]:
        blocks += _since(index, entries)
    return Document("index", "000", "Index of documents", blocks)


def _reviewed(index: Mapping[str, Any]) -> list[Any]:
    """What reviewers marked and signed; that nobody has, where nobody has."""
    review = index["review"]
    said = [f"{n} {state}" for state, n in review["lines"].items() if n]
    if not said and not review["signed"]:
        return [Heading("Review"), Paragraph("No line of the calculation bears a review mark, and nobody has signed.")]
    blocks: list[Any] = [Heading("Review"), Paragraph(
        f"Lines of the calculation by mark: {', '.join(said) or 'none'}. The marks stand on the calculation itself.")]
    if review["signed"]:
        blocks.append(Table("Sign-offs", (
            Column("by", "Signed by", width=1.4), Column("role", "As", width=1.2), Column("time", "On", width=0.8),
            Column("record", "Of record", width=1.2), Column("holds", "Of this calculation", width=1.4),
            Column("note", "Remark", width=2.4)), review["signed"], ("by", "time", "record")))
    return blocks


def _since(index: Mapping[str, Any], entries: Sequence[Mapping[str, Any]]) -> list[Any]:
    since, head = index["since"], index["head"]
    changed = [e for e in entries if e["state"] != "unchanged"]
    blocks: list[Any] = [Heading("What changed since the pack before"), Paragraph(
        f"The pack before is revision {since['revision'] or 'blank'} of design {since['hash'][:16]}. {len(changed)} of "
        f"{len(entries)} documents are new or issued anew; all others are the same to the byte.")]
    if changed and since["revision"] == head["revision"]:
        blocks.append(Paragraph(f"Both are revision {head['revision']}: set the next one (project.revision) before "
                                "this pack is issued."))
    if index["changes"]:
        blocks.append(Table("Inputs that changed", (Column("title", "Input", width=2), Column("key", "Key", width=2),
                                                    Column("old", "Before"), Column("new", "Now")), index["changes"],
                            ("key",)))
    if changed:
        blocks.append(Table("Documents issued anew", (
            Column("number", "No.", width=0.5), Column("title", "Document", width=1.4),
            Column("why", "Because of", width=2), Column("what", "What", width=2.6)), changed, ("number",),
            "An input is named where it changes the document when it is taken alone into the design before."))
    if index["gone"]:
        blocks.append(Points([f"Omitted: {e['number']} {e['title']}." for e in index["gone"]]))
    return blocks


def _csv(table: Table, units: str) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.heads(units))
    writer.writerows([[_inert(c) for c in row] for row in table.cells(units)])
    return out.getvalue()


def _inert(text: str) -> str:
    """No text that a spreadsheet program would take for a formula; a number with a sign stays one."""
    bare = text.replace("\N{THIN SPACE}", "").replace("\N{NARROW NO-BREAK SPACE}", "")
    try:
        float(bare)
        return bare
    except ValueError:
        return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _swap(half: Path, folder: Path) -> None:
    """The new pack in place of the old one; nothing else in a folder is touched."""
    folder.mkdir(exist_ok=True)
    for name in (_PAGES, _TABLES, _DRAWINGS):
        shutil.rmtree(folder / name, ignore_errors=True)
    for item in sorted(half.iterdir()):
        goal = folder / item.name
        if goal.is_dir():
            shutil.rmtree(goal)
        os.replace(item, goal)
