"""The comparison with general-purpose peers: ``python -m tests.bench``; ``--quick`` for the smallest case alone.

Every planner is a child process of its own, one after the other, on the same job folder. What
is compared is a ratio within one run: the machine and what else it does cancel out.
"""
