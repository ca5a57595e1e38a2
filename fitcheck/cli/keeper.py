"""Answers of `fitcheck check` that may be given again: what they rest on, and when they may be kept."""

from __future__ import annotations

import argparse
import hashlib
import os
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitcheck.answers import Answer, Answers
from fitcheck.jobfiles import find_jobs

if TYPE_CHECKING:
    from fitcheck.checks.result import Result


class Keeper:
    """Keeps the answer to one `fitcheck check`.

    Args:
        answers: where answers are kept.
        question: what is asked: the options that shape the answer, and the job files.
    """

    def __init__(self, answers: Answers, question: dict[str, Any]) -> None:
        self._answers = answers
        self._question = question
        self._jobs: list[str] = question["jobs"]
        self._before = {job: _digest(job) for job in self._jobs}

    @classmethod
    def of(cls, args: argparse.Namespace, colour: bool) -> Keeper | None:
        """The keeper of a command's answer, or None where nothing is to be kept or a path is no plain job file."""
        if args.no_cache:
            return None
        jobs = list(find_jobs(args.paths))
        if not jobs or not all(isinstance(job, str) and os.path.isfile(job) for job in jobs):
            return None
        from fitcheck.measurement.cache import default_folder

        question = {
            "jobs": jobs, "format": args.format, "strict": args.strict, "colour": colour, "to_file": bool(args.output),
        }  # fmt: skip
        try:
            return cls(Answers(args.cache or default_folder()), question)
        except OSError:
            return None

    def known(self) -> Answer | None:
        """The answer that was kept, while nothing that it rests on has changed."""
        return self._answers.get(self._question)

    def keep(self, result: Result, answer: Callable[[Result], Answer]) -> None:
        """Keep the answer, in the words of a run that took its measurements from the cache.

        Nothing is kept where a job or a STEP file could not be read, or where a file changed during the run.

        Args:
            result: what the run came to.
            answer: makes the answer of a result.
        """
        inputs = list(self._before.items())
        jobs = []
        for job in result.jobs:
            if job.error is not None or job.loaded is None or job.measurement is None:
                return
            inputs.append((job.loaded.step_path, job.measurement.sha256))
            jobs.append(replace(job, measurement=replace(job.measurement, from_cache=True)))
        if any(_digest(job) != digest for job, digest in self._before.items()):
            return
        self._answers.put(self._question, inputs, answer(replace(result, jobs=tuple(jobs))))


def _digest(path: str) -> str:
    with open(path, "rb") as stream:
        return hashlib.sha256(stream.read()).hexdigest()
