"""The way in. Answers ``--version`` before anything else is imported."""

from __future__ import annotations

import sys
from collections.abc import Sequence


def run(argv: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit code.

    Exit codes: 0 clear, 1 a Stop finding, 2 the input cannot be used, 70 a fault in Loomwright itself.
    """
    args = list(sys.argv[1:] if argv is None else argv)
    if args in (["--version"], ["-V"]):
        from loomwright import __version__

        sys.stdout.write(f"loomwright {__version__}\n")
        sys.exit(0)
    import gc
    import os

    # No package here has plug-ins to look for.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # The matrices here are small: threads would only wait for each other, most of all on a busy machine.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    gc.set_threshold(1_000_000, 20, 20)  # one answer, then the process ends: to look for garbage is wasted time
    from loomwright.cli.app import execute

    code = execute(args)
    gc.freeze()  # nor at the end, when all of it goes anyway
    sys.exit(code)


if __name__ == "__main__":
    run()
