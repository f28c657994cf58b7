"""Same plan, same bytes: in another process with another hash seed too."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROGRAM = """
import hashlib
from routecut.documents import cut_list_csv, pack_html, plan_json, scene_glb, summary_text
from tests.documents.sample import body, plan
p = plan()
texts = [plan_json(p), cut_list_csv(p), pack_html(p, pictures={"b": b"2", "a": b"1"}, body=body()), summary_text(p)]
texts.append(scene_glb(p, body()).hex())
print([hashlib.sha256(t.encode()).hexdigest() for t in texts])
"""


def digests(seed: str) -> str:
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


def test_documents_do_not_depend_on_the_hash_seed() -> None:
    assert digests("1") == digests("2") != ""
