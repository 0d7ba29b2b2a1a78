"""The ear beside its peers: the same takes, one run, one thread. `python -m bench` prints Markdown and writes out/."""

import os

for _library in ("OMP", "OPENBLAS", "MKL", "NUMBA"):  # read when numpy and its like are loaded, so it must come first
    os.environ[f"{_library}_NUM_THREADS"] = "1"
