"""A signature by a person's own key over a record's file, made and verified with the standard program."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from desalbook import cli, paths
from desalbook.audit.signature import NAMESPACE, signature
from desalbook.problems import DesignError
from desalbook.trail import record
from tests import shared

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def signed(program, tmp_path_factory):
    """A record, its signature, the signer's line and a line of somebody else."""
    keygen, folder = program("ssh-keygen"), tmp_path_factory.mktemp("signed")
    path = record.write(shared.recorded(), folder / "trail.json")
    for name in ("own", "other"):
        subprocess.run([keygen, "-q", "-t", "ed25519", "-N", "", "-C", "", "-f", str(folder / name)], check=True)
        key = " ".join((folder / f"{name}.pub").read_text().split()[:2])
        (folder / f"{name}.signers").write_text(f'ab@example.invalid namespaces="{NAMESPACE}" {key}\n')
    subprocess.run([keygen, "-q", "-Y", "sign", "-f", str(folder / "own"), "-n", NAMESPACE, str(path)], check=True)
    return path


def test_a_signature_names_who_signed(signed):
    got = signature(signed, signers=signed.with_name("own.signers"))
    assert got.good and got.signer == "ab@example.invalid" and got.key.startswith("SHA256:")
    bare = signature(signed)
    assert bare.good and bare.signer == "" and "--signers" in bare.what


def test_a_key_that_nobody_trusts_and_a_changed_record_are_refused(signed, tmp_path):
    other = signature(signed, signers=signed.with_name("other.signers"))
    assert not other.good and "none of other.signers" in other.what
    changed = tmp_path / "trail.json"
    changed.write_bytes(signed.read_bytes().replace(b"0", b"1", 1))
    for signers in (None, signed.with_name("own.signers")):
        got = signature(changed, signed.with_name("trail.json.sig"), signers)
        assert not got.good and "changed after it was signed" in got.what


def test_a_signature_for_another_purpose_is_none(signed, program, tmp_path):
    path = shutil.copy(signed, tmp_path / "trail.json")
    subprocess.run([program("ssh-keygen"), "-q", "-Y", "sign", "-f", str(signed.with_name("own")), "-n", "file",
                    str(path)], check=True)
    assert not signature(path, signers=signed.with_name("own.signers")).good


def test_no_signature_is_no_fault_until_one_is_asked_for(signed, tmp_path):
    path = shutil.copy(signed, tmp_path / "trail.json")
    assert signature(path) is None
    with pytest.raises(DesignError, match="Sign the record"):
        signature(path, signers=signed.with_name("own.signers"))
    with pytest.raises(DesignError, match="Give a file with lines"):
        signature(signed, signers=tmp_path / "nobody")


def test_verify_prints_the_hash_and_the_signer(signed, capsys):
    words = ["verify", str(signed), str(paths.demo("harbour-town.toml")), "--signers"]
    assert cli.main([*words, str(signed.with_name("own.signers"))]) == 0
    said = capsys.readouterr().out
    assert shared.recorded()["seal"]["content"] in said and "signed by ab@example.invalid" in said
    assert cli.main([*words, str(signed.with_name("other.signers"))]) == 1
