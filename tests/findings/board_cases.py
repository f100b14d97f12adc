"""One spoiled rig for each check on boards: the canal launch's board of another material, thickness or size."""

from __future__ import annotations

from tests.findings.edits import Case
from tests.findings.panel_cases import BOARD, SPACE

HOT = ("temperature_c = 35", "temperature_c = 50")
PVC = (SPACE, f'{SPACE}\nmaterial = "expanded PVC"')
WIDE = ("width_mm = 680\nheight_mm = 500", "width_mm = 2440\nheight_mm = 500")
BOARDS: tuple[Case, ...] = (
    Case("E982", BOARD, (HOT, PVC), "Fix", ("fore", "fore_locker", "bass_amp"), ("50 °C", "65 °C", "60 °C", "plywood")),
    Case("E982", BOARD, (("temperature_c = 35", "temperature_c = 43"), PVC), "Know", ("fore",), ("58 °C",)),
    Case("E983", BOARD, (WIDE,), "Know", ("fore",), ("2440", "two parts")),
    Case("E984", BOARD, ((SPACE, f"{SPACE}\nthickness_mm = 9"),), "Know", ("fore", "main_amp"), ("8.2 mm",)),
    Case("E984", BOARD, (PVC,), "Know", ("fore", "processor"), ("poorly",)),
    Case("E985", BOARD, ((SPACE, f'{SPACE}\nmaterial = "HDPE"'),), "Know", ("fore",), ("2.45 mm", "50 °C")),
    Case("E986", BOARD, ((SPACE, "space_mm = 55.3"),), "Know", ("fore", "bass_amp"), ("0.3 mm", "0.6 mm")),
    Case(
        "E987", BOARD, ((SPACE, f'{SPACE}\nmaterial = "aluminium"\nthickness_mm = 3'),), "Know", ("fore",), ("metal",)
    ),
)
