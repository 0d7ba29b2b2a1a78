"""The signature of a release, made with throw-away keys and checked by the very lines of docs/card.md."""

from __future__ import annotations

import re
import shutil
import subprocess
from hashlib import sha256
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
INSTALL = REPOSITORY / "install"
FILES = {"undertoe-0.2.0.tar.gz": b"sources", "undertoe-card-0.2.0.zip": b"a card"}

pytestmark = pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="no openssh-client on this machine")


def a_key(file: Path, *words: str) -> Path:
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", file, *words], check=True, timeout=60)
    return file


def sign(folder: str | Path, key: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", INSTALL / "sign_sums.sh", folder, key], capture_output=True, text=True, timeout=60, check=False
    )


def the_lines_of_the_page() -> str:
    lines = re.findall(
        r"^    ((?:echo \"undertoe|ssh-keygen -Y verify) .*)$", (REPOSITORY / "docs/card.md").read_text(), re.M
    )
    assert len(lines) == 2
    return "\n".join(lines)


def checked(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", "-ec", the_lines_of_the_page()], cwd=folder, capture_output=True, text=True, timeout=60, check=False
    )


@pytest.fixture
def key(tmp_path: Path) -> Path:
    return a_key(tmp_path / "key")


@pytest.fixture
def fetched(tmp_path: Path, key: Path) -> Path:
    """What somebody fetched of a signed release, and the public key that came another way."""
    folder = tmp_path / "release"
    folder.mkdir()
    for name, data in FILES.items():
        (folder / name).write_bytes(data)
    sums = "".join(f"{sha256(data).hexdigest()}  {name}\n" for name, data in FILES.items())
    (folder / "SHA256SUMS").write_text(sums)
    done = sign(folder, key)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    shutil.copy(f"{key}.pub", folder / "undertoe.pub")
    return folder


def test_the_lines_of_the_page_accept_a_signed_release(fetched: Path) -> None:
    done = checked(fetched)
    assert done.returncode == 0, done.stderr
    assert all(f"{name}: OK" in done.stdout for name in FILES)


def test_one_of_the_files_is_enough(fetched: Path) -> None:
    (fetched / "undertoe-0.2.0.tar.gz").unlink()
    assert checked(fetched).returncode == 0


def test_another_file_and_its_sum_are_noticed(fetched: Path) -> None:
    """Whoever can change the file can change the sum beside it; the signature is what he cannot."""
    (fetched / "undertoe-card-0.2.0.zip").write_bytes(b"another card")
    assert checked(fetched).returncode != 0
    sums = (fetched / "SHA256SUMS").read_text()
    was, now = (sha256(data).hexdigest() for data in (b"a card", b"another card"))
    (fetched / "SHA256SUMS").write_text(sums.replace(was, now))
    done = checked(fetched)
    assert done.returncode != 0
    assert "OK" not in done.stdout, "no sum is looked at before the signature holds"


def test_another_s_signature_is_noticed(fetched: Path, tmp_path: Path) -> None:
    assert sign(fetched, a_key(tmp_path / "other")).returncode == 0
    assert checked(fetched).returncode != 0


def test_a_signature_for_another_purpose_is_noticed(fetched: Path, key: Path) -> None:
    (fetched / "SHA256SUMS.sig").unlink()
    subprocess.run(
        ["ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", "file", fetched / "SHA256SUMS"], check=True, timeout=60
    )
    assert checked(fetched).returncode != 0


@pytest.mark.parametrize("what", ["nothing", "a folder", "a text", "a public key whose private one nobody holds"])
def test_what_cannot_sign_is_a_sentence(what: str, fetched: Path, key: Path, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong"
    if what == "a folder":
        wrong.mkdir()
    elif what == "a text":
        wrong.write_text("hello\n")
    elif what.startswith("a public"):
        shutil.copy(f"{key}.pub", wrong)
    done = sign(fetched, wrong)
    assert done.returncode == 1
    assert re.fullmatch(rf"release: SIGN_KEY={wrong} (is no file of a key|holds no key|does not sign).*\n", done.stderr)
    assert not (fetched / "SHA256SUMS.sig").exists() or what != "a public key whose private one nobody holds"


def test_a_release_asks_for_the_key_before_it_builds_anything(tmp_path: Path) -> None:
    shutil.copytree(INSTALL, tmp_path / "install")
    made = tmp_path / "out/release"
    made.mkdir(parents=True)
    (made / "SHA256SUMS").write_text("of the release before\n")
    done = subprocess.run(
        ["sh", tmp_path / "install/release.sh"], capture_output=True, text=True, timeout=60, check=False,
        env={"PATH": "/usr/bin:/bin", "SIGN_KEY": str(tmp_path / "none")},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (1, f"release: SIGN_KEY={tmp_path}/none is no file of a key\n")
    assert made.joinpath("SHA256SUMS").exists()
