"""Jobs: make one, open it, rename it, take it off the list and bring it back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from fastapi.responses import RedirectResponse, Response

from loomwright.web.guard import MOST_BYTES
from loomwright.web.service import samples
from loomwright.web.view import View, bench_of, go, page

router = APIRouter()


@router.get("/", include_in_schema=False)
def root() -> RedirectResponse:
    """The first page is the list of jobs."""
    return RedirectResponse("/jobs", 303)


@page(router, "/jobs", "jobs")
def jobs(request: Request, undo: str = "") -> View:
    """Every job of the shop, last changed first."""
    store = bench_of(request).store
    gone = store.jobs(deleted=True)
    just = next((j for j in gone if j.id == undo), None)
    return View("jobs.html", {"jobs": store.jobs(), "deleted": gone}, {"just": just, "samples": samples()})


@router.post("/jobs", tags=["writes"])
def create(
    request: Request, title: Annotated[str, Form(max_length=400)] = "", source: Annotated[str, Form()] = "empty"
) -> Response:
    """A new job: empty, from a sample, or with a list to be drafted."""
    bench = bench_of(request)
    if source == "list":
        return go(f"/jobs/{bench.store.create_job(title).id}/planned/list")
    job = bench.start(title, source)
    return go(f"/jobs/{job.id}/{bench.first_stage(job.id)}/rig")


@router.post("/jobs/import", tags=["writes"])
def bring_in(request: Request, file: UploadFile) -> Response:
    """A new job out of a job's file."""
    content = file.file.read(MOST_BYTES + 1)
    bench = bench_of(request)
    job = bench.store.import_job(content, name=file.filename or "job file")
    return go(f"/jobs/{job.id}/{bench.first_stage(job.id)}/rig")


@router.get("/jobs/{job_id}/export.zip", tags=["data"])
def export(request: Request, job_id: str) -> Response:
    """The whole job as one file: rigs with their history, photographs, readings, notes."""
    content = bench_of(request).store.export_job(job_id)
    headers = {"content-disposition": f'attachment; filename="job-{job_id}.zip"'}
    return Response(content, media_type="application/zip", headers=headers)


@router.get("/jobs/{job_id}", include_in_schema=False)
def open_job(request: Request, job_id: str) -> Response:
    """A job opens at its rig."""
    bench = bench_of(request)
    job = bench.store.job(job_id)
    return RedirectResponse(f"/jobs/{job.id}/{bench.first_stage(job.id)}/rig", 303)


@router.post("/jobs/{job_id}/title", tags=["writes"])
def rename(request: Request, job_id: str, title: Annotated[str, Form(max_length=400)]) -> Response:
    """Give a job another title."""
    bench_of(request).store.rename(job_id, title)
    return go("/jobs")


@router.post("/jobs/{job_id}/delete", tags=["writes"])
def delete(request: Request, job_id: str) -> Response:
    """Take a job off the list; it can be brought back."""
    bench_of(request).store.delete_job(job_id)
    return go(f"/jobs?undo={job_id}")


@router.post("/jobs/{job_id}/restore", tags=["writes"])
def restore(request: Request, job_id: str) -> Response:
    """Bring a job back."""
    bench_of(request).store.restore_job(job_id)
    return go("/jobs")
