"""The pages build as a site without a warning: every page in the contents, every link and heading there."""

import subprocess
import sys
from pathlib import Path

from tests.docs.pages import TOP


def build(source: Path, to: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-b", "html", str(source), str(to)],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def test_the_site_builds_without_a_warning(tmp_path: Path) -> None:
    ran = build(TOP / "docs", tmp_path / "site")
    assert (ran.returncode, ran.stderr) == (0, "")
    pages = {p.stem for p in (TOP / "docs").glob("*.md")}
    assert pages <= {p.stem for p in (tmp_path / "site").glob("*.html")}
    library = (tmp_path / "site" / "library.html").read_text(encoding="utf-8")
    assert "Every fault found, not only the first" in library  # docstrings are in


def test_a_dead_link_and_a_page_outside_the_contents_are_warnings(tmp_path: Path) -> None:
    docs = tmp_path / "docs"
    docs.mkdir()
    (docs / "conf.py").write_text((TOP / "docs" / "conf.py").read_text(encoding="utf-8"), encoding="utf-8")
    (docs / "index.md").write_text("# Top\n\nSee [there](nowhere.md).\n", encoding="utf-8")
    (docs / "stray.md").write_text("# Stray\n", encoding="utf-8")
    ran = build(docs, tmp_path / "site")
    assert ran.returncode != 0
    assert "nowhere.md" in ran.stderr
    assert "stray" in ran.stderr
