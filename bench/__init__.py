"""Measurements. Each module here with a ``rows()`` function adds its rows to one table."""

import os

# One thread for the arithmetic, so that runs on different machines can be compared. Set before numpy is loaded.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[_name] = "1"
