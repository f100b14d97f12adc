"""What comes out of a parcel equals what went in."""

from __future__ import annotations

import pickle

from loomwright import demo
from loomwright.findings.run import check
from loomwright.rig.file import load
from loomwright.study import Study
from loomwright.web.work.parcels import packed


def test_a_study_arrives_whole() -> None:
    study = Study(load(demo.path("canal_launch")))
    findings = check(study)
    there, found = pickle.loads(packed((study, findings)))
    assert there.given == study.given
    assert there.rig == study.rig
    assert there.power == study.power
    assert there.protection == study.protection
    assert found == findings
    assert check(there) == findings
