# ruff: noqa: E501 - lines of the page, as they are printed
"""docs/reliability.md: the classes and how often each is tried come from the tests themselves.

Made by ``python -m tests.docs.pages``. Figures of long runs are written down below by hand, with what was run.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from routecut.plain import plain
from routecut.records import journal
from routecut.survey import additions, mesh_obj, mesh_raw, toml_file
from routecut.survey.toml_table import MOST_ENTRIES
from tests.hostile.files import MOST_BYTES, MOST_SECONDS
from tests.hostile.foreign import TABLES
from tests.hostile.listed import CASES
from tests.hostile.test_commands import SPOILT
from tests.hostile.test_faults import UPSET
from tests.hostile.test_jobs import JOBS

FUZZED: Final = (
    (
        "job reader, changed text",
        "job",
        "39,202, 11,458, 3,371, 101,443 and 440,981",
        "38, 67, 30, 42 and 52",
        "4.9, 1.8, 0.5, 10.2 and 37.6",
        "none",
    ),
    (
        "job reader, edits of a job that uses every key",
        "edits",
        "26,041, 48,438 and 183,261",
        "91, 42 and 52",
        "5.4, 11.4 and 39.1",
        "none",
    ),
    (
        "mesh door, seven formats",
        "mesh",
        "141,971, 83,826, 37,499, 707,796 and 686,814",
        "75, 67, 16, 62 and 52",
        "5.2, 1.9, 0.7, 28.2 and 29.5",
        "none",
    ),
    (
        "whole jobs made up by hypothesis, from check to job pack",
        "jobs",
        "295, 24, 1,813 and 1,652",
        "34, 25, 63 and 52",
        "5.5, 0.5, 28.3 and 29.4",
        "one job takes 82 s to plan",
    ),
)
"""What was tried, target, inputs, minutes by the clock, minutes of processor time, what was found."""

PLANNED: Final = (
    ("24", "8", "1", "0.20"),
    ("50", "22", "3", "0.21"),
    ("200", "75", "6", "0.36"),
    ("500", "215", "27", "0.68"),
    ("1,500", "860", "175", "1.71"),
)
"""Cables, seconds, of them for the documents, GB: of a single run beside other work."""

READ: Final = (
    ("STL, binary", "3,000,000", "150", "2.0", "1,290"),
    ("PLY, binary", "3,000,000", "57", "0.8", "760"),
    ("OBJ", "1,000,000", "8", "5.3", "280"),
    ("COLLADA", "1,000,000", "31", "2.4", "430"),
    ("OFF", "1,000,000", "33", "7.9", "830"),
    ("3MF", "700,000", "9", "5.9", "1,280"),
    ("STL, text", "300,000", "40", "1.7", "430"),
)
"""Format, faces, MB, seconds of processor time, MB of memory: reading alone."""

ELSEWHERE: Final = (
    (
        "names that act on what shows them, in every output file",
        "tests/documents",
        "refused as a name, or shown as text: page, CSV, workbook, drawings, glTF",
        "pytest tests/documents -k 'hostile or formula or script'",
    ),
    (
        "names of parts in a mesh",
        "tests/survey",
        "made printable and cut to 120 letters",
        "pytest tests/survey/test_hostile_meshes.py -k names",
    ),
    (
        "23 faults of one job, at once",
        "tests/cli",
        "every one told in one run, nothing written",
        "pytest tests/cli/test_ten_faults.py",
    ),
    (
        "each step of writing fails, or the power goes",
        "tests/planning",
        "the old plan or the new one, never a mix",
        "pytest tests/planning/test_output.py",
    ),
    (
        "no OpenGL",
        "tests/preview, tests/cli",
        "all but the pictures; the line says what to install",
        "pytest tests/preview tests/cli -k opengl",
    ),
    (
        "a network is asked",
        "every test",
        "whoever reaches for a socket fails its test",
        "pytest tests/hostile/test_offline.py",
    ),
    (
        "pickle, eval, shells, processes, network modules",
        "tests/hostile",
        "none in any source; one place starts our own interpreter to draw",
        "pytest tests/hostile/test_supply.py",
    ),
    (
        "one world moved, turned, mirrored, with more keep-outs",
        "tests/properties",
        "turned or mirrored lengths within 5 % and 3 mm (in most worlds 0.5 %), the same holes; more keep-outs never shorten",
        "pytest tests/properties --worlds 2000",
    ),
    (
        "a whole plan moved by a vector, in other units, turned or mirrored, its tables in another order, parts, devices, cables, types and keep-outs by other names",
        "tests/properties",
        "lengths within 0.5 % and 3 mm (turned or mirrored 5 %) and the same holes; in another order or by other names to the last digit",
        "pytest tests/properties/test_whole_plans.py --worlds 100",
    ),
    (
        "a whole plan with one more hole, one more keep-out, a thicker cable",
        "tests/properties",
        "a hole never makes it dearer, a keep-out or a thicker cable never cheaper, by more than 0.5 % and 3 mm a cable",
        "pytest tests/properties/test_whole_plans.py --worlds 100",
    ),
    (
        "every library an installation brings along: version, licence, who asks for it",
        "tests/hostile",
        "each there and of a version that is allowed, from a registry, under a licence that lets anybody use and change it",
        "python -m tests.hostile.supply",
    ),
    (
        "what the verifier says of a scene turned, scaled, mirrored, reversed",
        "tests/verify",
        "the same verdict",
        "pytest tests/verify/test_invariance.py",
    ),
)


def reliability_page(note: str) -> str:
    """The page."""
    return "\n".join(_lines(note)) + "\n"


def _lines(note: str) -> Iterator[str]:
    yield from ("# Reliability\n", note)
    yield (
        "Files come from strangers' phones and mail, machines run full or are switched off. What was tried, what came\n"
        "of it, and the command that tries it again. Every row is a test that runs with the others."
    )
    yield "\n## Files\n"
    yield (
        f"Each file goes through `routecut check` in a process of its own: exit code 2, or 0 with a finding where it can\n"
        f"be read; one message; under {MOST_SECONDS:g} seconds of processor time and {MOST_BYTES // 10**9} GB; nothing\n"
        "written; no socket reached for. Again: `pytest tests/hostile/test_files.py`."
    )
    yield "\n| class | files tried | refused | read, with what was noticed |\n| --- | --- | --- | --- |"
    kinds = Counter(case.kind for case in CASES.values())
    refused = Counter(case.kind for case in CASES.values() if case.code)
    for kind, count in kinds.items():
        yield f"| {kind} | {count} | {refused[kind]} | {count - refused[kind]} |"
    yield f"| **all** | {len(CASES)} | {sum(refused.values())} | {len(CASES) - sum(refused.values())} |"
    yield "\n## Jobs that can't be\n"
    yield (
        "Exit code 1 with the reason and the nearest way out, everything else planned all the same; exit code 2 where the\n"
        "job contradicts itself. Again: `pytest tests/hostile/test_jobs.py`."
    )
    yield "\n| job | exit code | said, among others |\n| --- | --- | --- |"
    for what, (_, _, code, said) in JOBS.items():
        yield f"| {what} | {code} | {', '.join(f'`{piece}`' for piece in said)} |"
    yield "\n## Faults while a plan is made\n"
    yield (
        "A job folder with a plan and a file of the user's in it; the fault strikes in the process that plans. The last\n"
        "good plan stays to the byte and nothing is left over. Again: `pytest tests/hostile/test_faults.py`."
    )
    yield "\n| fault | exit code | said |\n| --- | --- | --- |"
    for upset, (code, told) in UPSET.items():
        yield f"| {upset.replace('_', ' ')} | {code} | {told} |"
    yield "| killed (SIGKILL) while writing | - | the next run tidies up |"
    yield "| the last plan removed meanwhile | 0 | written anew |"
    yield "| the job folder removed meanwhile | 1 | could not be written: No such file or directory |"
    yield "| another run writing in the folder | 1 | another routecut is writing it; run this again when it is done |"
    yield "\n## Commands given wrongly, and a job's own files spoilt\n"
    yield (
        "Each in a process of its own on a job that is planned: the exit code, what is said, no traceback, under\n"
        f"{MOST_SECONDS:g} seconds and {MOST_BYTES // 10**9} GB, and nothing in the folder changed. Again:\n"
        "`pytest tests/hostile/test_commands.py`."
    )
    yield "\n| what | exit code | said |\n| --- | --- | --- |"
    for what, (_, _, code, words) in SPOILT.items():
        yield f"| {what} | {code} | `{words}` |"
    yield "\n## Records, additions, the shop's own file and folders of strangers\n"
    yield (
        "A record that is torn, edited or forged, a file for `routecut add`, the shop's own file of defaults, a folder or a\n"
        "plan that is not what it says: held in the same way. Exit code 0 where a line is left out and said. Again:\n"
        "`pytest tests/hostile/test_foreign.py`."
    )
    yield "\n| of | what | exit code | said |\n| --- | --- | --- | --- |"
    for kind, rows in TABLES.items():
        for what, (_, _, code, words) in rows.items():
            yield f"| {kind} | {what} | {code} | `{' '.join(plain(words).split())}` |"
    yield "\n## Further\n\n| what | tests | outcome | again |\n| --- | --- | --- | --- |"
    for row in ELSEWHERE:
        yield f"| {row[0]} | {row[1]} | {row[2]} | `{row[3]}` |"
    yield "\n## Fuzzing\n"
    yield (
        "`python -m tests.fuzz --minutes 60` (`pip install '.[fuzz]'`), last run beside much other work on two processors:"
    )
    yield "\n| what | inputs | minutes | of processor time | open |\n| --- | --- | --- | --- | --- |"
    for what, target, inputs, minutes, cpu, found in FUZZED:
        yield f"| {what} (`{target}`) | {inputs} | {minutes} | {cpu} | {found} |"
    yield (
        "\nFound and mended: a slip in a device of a job whose mesh is good ended in a traceback; a concave OBJ face of nan\n"
        "made a library complain on the terminal; a diameter below nothing, in a job whose unit is missing, ended in a\n"
        "traceback. What led to a message of its own is kept in `tests/fuzz/kept` and tried\n"
        "with the other tests. Of the first whole jobs 152 were refused, 62 planned, 73 planned in part; 8 can't be written as TOML.\n"
        "An hour by the clock is reached for each, and all runs together come to 55 to 66 minutes of processor time for each:\n"
        "the machine had other work all the time. Figures side by side are of runs one after another, the last two of\n"
        "27 November 2026. In the last but one all were led by atheris, whole jobs too: of those 760 were refused, 420 planned, 582 planned in part, 44 no TOML. Its counters filled\n"
        "2 GB after some two hundred whole jobs, five times; the same jobs without them stay at 0.2 GB (150 in one process), so\n"
        "whole jobs are made at random again. Three inputs were said to be in trouble when the whole run was halted from outside\n"
        "for minutes; each was tried again and is fine. The slowest whole job takes 82 s of processor time where 60 are allowed: bends that\n"
        "can't be laid beside a keep-out that is the whole body, measured again for each try; it ends well, and is left open. In an earlier run one whole job ended in trouble where a module of the command line was read, with the\n"
        "time run out on the busy machine; what it was is not known any more."
    )
    yield "\n## Limits\n\n| of | at most |\n| --- | --- |"
    yield f"| a job file | {toml_file.LARGEST_JOB_BYTES // 10**6} MB, {MOST_ENTRIES} tables of one kind |"
    yield f"| a file for `routecut add` | {additions.LARGEST_BYTES // 10**3} kB, {additions.MOST_ADDED} entries |"
    yield f"| the record of a job | {journal.LARGEST_BYTES // 10**6} MB, {journal.MOST_LINES:,} lines |"
    yield f"| a mesh file | {mesh_raw.LARGEST_FILE_BYTES // 10**6} MB, {mesh_raw.MOST_FACES:,} faces |"
    yield f"| a PLY, STL or OFF file that is text | {mesh_raw.LARGEST_TEXT_BYTES // 10**6} MB |"
    yield (
        f"| XML of 3MF and COLLADA | {mesh_raw.LARGEST_XML_BYTES // 10**6} MB, {mesh_raw.MOST_TAGS:,} tags, "
        f"{mesh_raw.MOST_ATTRIBUTES:,} attributes |"
    )
    yield f"| the description in a GLB | {mesh_raw.LARGEST_JSON_BYTES // 10**6} MB |"
    yield f"| files in a 3MF package | {mesh_raw.MOST_PACKED:,} |"
    yield f"| an OBJ line | {mesh_obj._LONGEST_LINE:,} letters |"
    yield "\n## Largest sizes held\n"
    yield "Good files, read alone, single runs:"
    yield "\n| format | faces | MB | seconds of processor time | MB of memory |\n| --- | --- | --- | --- | --- |"
    for held in READ:
        yield f"| {' | '.join(held)} |"
    yield (
        "\nThe whole of `routecut check` on a million faces takes half a minute on a busy machine and 0.6 GB (PLY) to\n"
        "1.1 GB (STL). Files of more than some hundred thousand faces are read, but take longer than the ten seconds that\n"
        "hold for what is refused.\n\n"
        "2,000 cables, the most a job can have, are read and judged in 16 seconds of processor time and 0.13 GB. Planned\n"
        "whole, the job pack included, through a wall with one hole of 300 mm:"
    )
    yield "\n| cables | seconds of processor time | of them the documents | GB of memory |\n| --- | --- | --- | --- |"
    for row in PLANNED:
        yield f"| {' | '.join(row)} |"
    yield (
        "\nThat is 0.4 to 0.6 s a cable; the documents grow a little quicker than the cables. Labels in the pictures were held\n"
        "against each other one by one, which took 98 s of 500 cables and is 15 now; the clips that cables of a bundle share are\n"
        "looked up in the bundle (both the same places as before, in thousands of random ones). `check` says how long a\n"
        "plan of 300 cables or more takes, and advises a job for each vehicle (`many-cables`). None is\n"
        "refused for its size; the stages are told as they go, and Ctrl-C leaves the last plan."
    )
    yield "\n## Not done\n"
    yield (
        "- `pip-audit` asks a service on the network for known faults of libraries and can't run without. What can be said\n"
        "  without is checked: every dependency has a lower bound, is declared, nothing else is imported, and\n"
        "  `python -m tests.hostile.supply` lists the 52 libraries an installation brings along with version, licence and who\n"
        "  asks for them (a test holds them against what is allowed). Known faults of a version are NOT looked for.\n"
        "- `python -m tests.hostile.lowest` makes an environment of the oldest versions and tries it; it takes the network and\n"
        "  minutes, so it is no part of the other tests. Run whole: 167 of its 170 tests\n"
        "  passed, three failed of trimesh 4.6.0, which joins points of PLY and OFF files that lie in one place whatever it is told;\n"
        "  pytest-xdist 3.6.0 was withdrawn. Both bounds are a step higher, and every one of the 170 has passed since, one of them\n"
        "  by itself: it had waited two minutes for the busy machine.\n"
        "- Whole plans were held against each other in 8 worlds for each of eight properties, all held; hundreds were not tried.\n"
        "- On Windows two runs at once in one folder are not noticed."
    )
