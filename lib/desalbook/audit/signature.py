"""A person's signature over a record's file, in the format of SSH signatures, made with a key that person has anyway.

Sign:   ``ssh-keygen -Y sign -f KEY -n desalbook trail.json`` writes ``trail.json.sig`` beside the record.
Trust:  a file of signers, one a line: ``name namespaces="desalbook" ssh-ed25519 AAAA...`` (the public key).
Verify: ``desalbook verify trail.json DESIGN --signers FILE`` names who signed this very file.

The kit makes no key and keeps none. Without a file of signers it says that the file is unchanged since somebody
signed it, and with which key, not who that was.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

from desalbook.problems import DesignError

__all__ = ["NAMESPACE", "Signature", "signature"]

NAMESPACE = "desalbook"
"""A signature made for another purpose is none for a record."""
_SECONDS = 20.0


@dataclass(frozen=True)
class Signature:
    """What a signature says.

    Parameters
    ----------
    good : bool
        The file is the one that was signed and, where signers were given, one of them signed it.
    signer : str
        Who signed, by the file of signers; empty where none was given.
    key : str
        Fingerprint of the key; empty where the signature does not fit.
    what : str
        The same in one sentence.
    """

    good: bool
    signer: str
    key: str
    what: str


def signature(
    record: str | os.PathLike, beside: str | os.PathLike | None = None, signers: str | os.PathLike | None = None
) -> Signature | None:
    """The signature of a record's file, verified; None where there is none and none was asked for.

    Parameters
    ----------
    record : path
        The signed file; every byte of it counts.
    beside : path, optional
        The signature; the record's name and ``.sig`` if blank.
    signers : path, optional
        File of the signers that are trusted.

    Raises
    ------
    DesignError
        A file that was named is not there, or no ``ssh-keygen`` is installed.
    """
    path = Path(beside) if beside is not None else Path(f"{os.fspath(record)}.sig")
    if not path.is_file():
        if beside is None and signers is None:
            return None
        raise DesignError("no such file", where="signature", value=str(path),
                          do=f"sign the record: ssh-keygen -Y sign -f KEY -n {NAMESPACE} {Path(record).name}")
    if signers is not None and not Path(signers).is_file():
        raise DesignError("no such file", where="signers", value=str(signers),
                          do=f'give a file with lines such as: name namespaces="{NAMESPACE}" ssh-ed25519 AAAA...')
    data = Path(record).read_bytes()
    if signers is None:
        code, text = _run("check-novalidate", "-n", NAMESPACE, "-s", str(path), data=data)
        key = _fingerprint(text) if code == 0 else ""
        return Signature(code == 0, "", key, f"signed with key {key}; give --signers to learn whose it is" if code == 0
                         else "the signature does not fit: the record was changed after it was signed")
    code, names = _run("find-principals", "-f", str(signers), "-s", str(path))
    for name in names.splitlines() if code == 0 else ():
        code, text = _run("verify", "-f", str(signers), "-I", name, "-n", NAMESPACE, "-s", str(path), data=data)
        if code == 0:
            key = _fingerprint(text)
            return Signature(True, name, key, f"signed by {name} with key {key}")
    known = _run("check-novalidate", "-n", NAMESPACE, "-s", str(path), data=data)
    if known[0]:
        return Signature(False, "", "", "the signature does not fit: the record was changed after it was signed")
    key = _fingerprint(known[1])
    return Signature(False, "", key, f"signed with key {key}, which is none of {Path(signers).name}")


def _run(job: str, *words: str, data: bytes = b"") -> tuple[int, str]:
    program = shutil.which("ssh-keygen")
    if program is None:
        raise DesignError("cannot be verified", where="signature", value="ssh-keygen is not installed",
                          do="install the client programs of SSH, or verify the record without its signature")
    try:
        done = subprocess.run([program, "-Y", job, *words], input=data, capture_output=True, timeout=_SECONDS,
                              check=False)
    except subprocess.TimeoutExpired:
        raise DesignError("cannot be verified", where="signature", value="no answer in 20 s",
                          do="look whether the files can be read") from None
    return done.returncode, done.stdout.decode(errors="replace")


def _fingerprint(text: str) -> str:
    found = re.search(r"SHA256:\S+", text)
    return found[0] if found else ""
