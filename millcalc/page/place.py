"""Where the page keeps its jobs: a folder a job, with names that only the page gives."""

from __future__ import annotations

import hashlib
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from millcalc.errors import InputError, JobError
from millcalc.files import new_file, write_text
from millcalc.page import tuning

JOB, RESULT = "job.yaml", "result"
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,60}")


@dataclass(frozen=True)
class JobFolder:
    """One job.

    name: Name of its folder, and of its address.
    path: The folder.
    """

    name: str
    path: Path

    @property
    def job(self) -> Path:
        """Its job file, which need not exist yet."""
        return self.path / JOB

    @property
    def program(self) -> Path | None:
        """The program its job names, inside the folder; else the only file that looks like one."""
        from millcalc.check.tuning import PROGRAM_ENDINGS
        from millcalc.job import load_job

        if self.job.is_file():
            named = load_job(self.job).program
            if named and Path(named).name == named and (self.path / named).is_file():
                return self.path / named
        found = [p for p in self.path.iterdir() if p.suffix.lower() in PROGRAM_ENDINGS and p.is_file()]
        return found[0] if len(found) == 1 else None

    def stamp(self) -> str:
        """Fingerprint of the job file as it is now; empty while there is none."""
        return hashlib.sha256(self.job.read_bytes()).hexdigest() if self.job.is_file() else ""


class Place:
    """The folder of all jobs.

    folder: Where; it is made when the first job is.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def all(self) -> list[JobFolder]:
        """The jobs, the one that was changed last first."""
        if not self.folder.is_dir():
            return []
        found = [
            JobFolder(p.name, p)
            for p in self.folder.iterdir()
            if p.is_dir() and _NAME.fullmatch(p.name) and any(one.is_file() for one in p.iterdir())
        ]
        return sorted(found, key=lambda one: -one.path.stat().st_mtime)

    def get(self, name: str) -> JobFolder:
        """A job by its name; only names of folders that are there are taken.

        name: As an address gave it.
        Returns: The job.
        Raises InputError: When there is none.
        """
        if _NAME.fullmatch(name) and (self.folder / name).is_dir():
            return JobFolder(name, self.folder / name)
        raise InputError("a job that is not here", "one of the list of jobs", "go back to the list")

    def new(self, file_name: str, data: bytes) -> JobFolder:
        """A new job with its program, whole or not at all.

        file_name: As the browser gave it; only its harmless letters are used.
        data: The program.
        Returns: The job.
        """
        stem, ending = plain_name(file_name)
        made = self.empty(stem)
        with new_file(made.path / f"{stem}{ending}") as part:
            part.write_bytes(data)
        return made

    def empty(self, stem: str) -> JobFolder:
        """A folder for a job that is yet to be written; it is no job of the list before.

        stem: How its name begins, harmless letters.
        Returns: The job.
        """
        name = f"{stem}-{secrets.token_hex(3)}"
        path = self.folder / name
        path.mkdir(parents=True)
        return JobFolder(name, path)


def plain_name(file_name: str) -> tuple[str, str]:
    """A harmless name for a file that somebody else named.

    file_name: Any text.
    Returns: Stem and ending.

    >>> plain_name("../../Sensor Plate.NC"), plain_name("<img src=x>.tap"), plain_name("")
    (('sensor-plate', '.nc'), ('img-src-x', '.tap'), ('program', '.nc'))
    """
    from millcalc.check.tuning import PROGRAM_ENDINGS

    base = file_name.replace("\\", "/").rsplit("/", 1)[-1].lower()
    stem, dot, ending = base.rpartition(".")
    if not dot or "." + ending not in PROGRAM_ENDINGS:
        stem, ending = base, "nc"
    plain = re.sub(r"[^a-z0-9]+", "-", stem).strip("-")[: tuning.NAME_LETTERS].strip("-")
    return plain or "program", "." + ending


def save_job(folder: JobFolder, text: str, stamp: str) -> None:
    """Save a job file, unless somebody else changed it meanwhile; the one before stays beside it.

    folder: The job.
    text: Its new content.
    stamp: Fingerprint of the file the changes were made to.
    Raises JobError: If the file is another one now; nothing is written then.
    """
    if folder.stamp() != stamp:
        raise JobError(
            "a job that was changed elsewhere meanwhile",
            "the job as this form began with",
            "look at the other change, then save over it or leave it",
            file=JOB,
        )
    if folder.job.is_file():
        with new_file(folder.path / "job.before.yaml", replace=True) as part:
            part.write_bytes(folder.job.read_bytes())
    write_text(folder.job, text, replace=True)
