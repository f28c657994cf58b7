"""The as-built record of a job: what was really done, kept for good.

Stage      beside ordering and drilling; reads and extends `record.jsonl`, changes no job and no plan
Units      in the file as the user wrote them; out m, V, W, ohm
Safe side  a line that was accepted is never rewritten; what can't be trusted is not used, and is said
"""

from routecut.records.journal import RECORD_FILE, append, read_journal

__all__ = ["RECORD_FILE", "append", "read_journal"]
