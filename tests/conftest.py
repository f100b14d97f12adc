"""What several rooms' tests share: hypothesis settings, the sample rigs as files, and the program run in-process."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does
for _name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):  # nothing that an earlier run kept, and nothing left in the home
    os.environ[_name] = os.path.join(tempfile.gettempdir(), f"loomwright-tests-{os.getpid()}")

settings.register_profile("suite", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("suite")


@dataclass(frozen=True)
class Ran:
    """What one command line came to."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """The JSON answer, read strictly: no NaN, no Infinity."""

        def refuse(name: str) -> float:
            raise AssertionError(f"not JSON: {name}")

        return json.loads(self.out, parse_constant=refuse)


Run = Callable[..., Ran]


@pytest.fixture(scope="session")
def studies() -> dict[bytes, Any]:
    """Studies already made in this test process, by the text of the rig: a study is a pure function of its rig."""
    return {}


@pytest.fixture
def loomwright(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, studies: dict[bytes, Any]
) -> Run:
    """Runs the program in this process, as a pipe would see it, 80 columns wide.

    A rig that was studied before is not worked out again, unless ``fresh=True``.
    """
    from loomwright.cli import service
    from loomwright.cli.app import execute

    open_study = service.open_study

    def remembered(path: Path) -> Any:
        if not path.is_file():
            return open_study(path)
        key = path.read_bytes()
        if key not in studies:
            studies[key] = open_study(path)
        return studies[key]

    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)

    def run(*args: str | Path, fresh: bool = False) -> Ran:
        capsys.readouterr()
        with monkeypatch.context() as patch:
            if not fresh and service.open_study is open_study:
                patch.setattr(service, "open_study", remembered)
            code = execute([str(a) for a in args])
        said = capsys.readouterr()
        return Ran(code, said.out, said.err)

    return run


@pytest.fixture(scope="session")
def rigs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The sample rigs, written out as files."""
    from loomwright.cli import samples

    folder = tmp_path_factory.mktemp("rigs")
    made = {}
    for name in (*samples.VEHICLES, samples.BLANK, samples.AS_FOUND):
        made[name] = folder / f"{name}.toml"
        made[name].write_text(samples.text(name), encoding="utf-8")
    return made | {"trike as found": made[samples.AS_FOUND]}
