"""``python -m canewright_bench [--json FILE] [--plant FILE] [--quick]``: times the engine and prints what it finds."""

import os
import sys

# Small matrices on several threads wait for one another longer than they compute; rivals get the same. The libraries
# read this when they load, so it comes before they do.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

from canewright_bench.command import main  # noqa: E402

sys.exit(main())
