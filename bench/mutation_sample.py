"""Keep a random sample of a cosmic-ray session, skip all else: `python bench/mutation_sample.py FILE [MOST]`.

Left out are mutants of `|`, nearly all of them in types that are never run. See docs/mutation.md.
"""

from __future__ import annotations

import random
import sys
from typing import Any

SEED, SAMPLE = 20, 20


def _order(item: Any) -> tuple[object, ...]:
    one = item.mutations[0]
    return str(one.module_path), one.operator_name, one.start_pos, one.occurrence


def main(session: str, most: int) -> None:
    """Twenty are drawn with a fixed seed, and the first `most` of them are kept."""
    from cosmic_ray.work_db import WorkDB, use_db  # a tool of the day, no dependency
    from cosmic_ray.work_item import WorkerOutcome, WorkResult

    with use_db(session, WorkDB.Mode.open) as db:
        items = sorted(db.pending_work_items, key=_order)
        usable = [item for item in items if "BinaryOperator_BitOr" not in item.mutations[0].operator_name]
        kept = {item.job_id for item in random.Random(SEED).sample(usable, SAMPLE)[:most]}
        skipped = WorkResult(worker_outcome=WorkerOutcome.SKIPPED)
        db.set_multiple_results([item.job_id for item in items if item.job_id not in kept], skipped)
        print(f"{len(items)} mutants, {len(usable)} of them not of `|`, {len(kept)} kept")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else SAMPLE)
