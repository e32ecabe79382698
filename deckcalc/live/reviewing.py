"""The widget in which a job is reviewed: inputs in a table, verdicts that flip, results that move, and the values written back."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from deckcalc.base.errors import PackageError
from deckcalc.core.units import InputError
from deckcalc.job.review import Review
from deckcalc.live.desk import Desk, by_input
from deckcalc.live.widget import asset


class ReviewPage(anywidget.AnyWidget):
    """A page on which inputs of a job are changed and what they move is seen; see `review_page`.

    Attributes
    ----------
    typed : dict of str
        New values by the key of their input.
    place : str
        Job folder or filed document.
    only : str
        Part of the job whose inputs are listed.
    question : dict
        What is asked beside the review, by `what` and `of`, with the number of its asking.
    asked : int
        Number of the last asking.
    declared, shown, about : dict
        The job; its review; the answer to the question.
    """

    _esm = asset("make.js") + asset("reviewing.js")
    _css = asset("form.css") + asset("reviewing.css")
    typed = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)
    place = traitlets.Unicode().tag(sync=True)
    only = traitlets.Unicode().tag(sync=True)
    question = traitlets.Dict().tag(sync=True)
    asked = traitlets.Int(0).tag(sync=True)
    declared = traitlets.Dict().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)
    about = traitlets.Dict().tag(sync=True)

    def __init__(self, place: str | Path, only: str = "") -> None:
        self.desk = Desk(place)
        super().__init__(place=str(place), only=only)
        self.opened = self.place
        self.declared = self.desk.declared(only)
        self.shown = {"asked": 0, "old": False, "status": "", "faults": {}, **self.desk.answer(only)}
        self.observe(self.work, names=["asked"])

    def work(self, change: Any = None) -> None:
        """Answer what was asked last."""
        with self.hold_sync():
            if self.place != self.opened:
                self.open_job()
            elif self.question.get("asked") == self.asked:
                self.tell()
            else:
                self.review()

    def open_job(self) -> None:
        """Put another job on the desk; where it cannot be read, the former one stays."""
        try:
            self.desk = Desk(self.place)
        except (InputError, PackageError) as error:
            self.place, said = self.opened, str(error)
            self.shown = {**self.shown, "asked": self.asked, "place": said}
            return
        self.opened, self.typed = self.place, {}
        self.renew()

    def renew(self) -> None:
        """Show a job that was read anew."""
        self.declared, self.about = self.desk.declared(self.only), {"asked": self.asked}
        self.review()

    def review(self) -> None:
        """Show what the typed values move."""
        began, faults, others = time.perf_counter(), dict[str, str](), list[str]()
        try:
            self.desk.review(self.typed)
        except (InputError, PackageError) as error:
            faults, others = by_input(error, self.typed)
        self.about = {"asked": self.asked}
        self.shown = {
            "asked": self.asked, "old": bool(faults or others), "status": "\n".join(others), "faults": faults, "place": "",
            **self.desk.answer(self.only), "seconds": round(time.perf_counter() - began, 2),
        }  # fmt: skip

    def tell(self) -> None:
        """Answer a question; where something was written, the job is read anew."""
        what, of = str(self.question.get("what")), str(self.question.get("of", ""))
        try:
            about = self.desk.asked(what, of)
        except (InputError, PackageError) as error:
            about = {"title": "No answer" if what != "write" else "Nothing was written", "fault": str(error)}
        if what == "write" and "fault" not in about:
            self.typed = {}
            self.renew()
        self.about = {"asked": self.asked, **about}
        self.shown = {**self.shown, "asked": self.asked}

    # --- by hand, as a person does in the browser

    def enter(self, changes: dict[str, str]) -> Review:
        """Type values, beside those that were typed; one that is empty is taken back. Return the review that is then shown."""
        self.typed = {key: text for key, text in {**self.typed, **changes}.items() if text.strip()}
        self.asked += 1
        return self.desk.outcome

    def ask(self, what: str, of: str = "") -> dict[str, Any]:
        """Ask why, affects, turns, difference or write, and return the answer."""
        self.question = {"what": what, "of": of, "asked": self.asked + 1}
        self.asked += 1
        return dict(self.about)

    def markdown(self) -> str:
        """Return the review as a short table."""
        rows = [("changed", one.where, one.old, one.new) for one in self.desk.outcome.changed]
        rows += [("verdict", *one) for sort, *one in self.shown["flipped"] if sort not in ("open", "other")]
        lines = ["", "| | where | as filed | now |", "|:--|:--|:--|:--|"]
        lines += [f"| {' | '.join(cell.replace('|', '/') for cell in row)} |" for row in rows]
        said = [f"**{self.declared['title']}**", "", f"{self.shown['stand']}. {self.shown['counted'].capitalize()}"]
        return "\n".join([*said, *(lines if rows else [])])

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """Show the review as a short table where no page can be shown: printed, exported, read as text."""
        made = super()._repr_mimebundle_(**kwargs)
        data, metadata = made if isinstance(made, tuple) else (made or {}, {})
        plain = f"{self.declared['title']}: {self.shown['counted']}"
        return {**data, "text/markdown": self.markdown(), "text/plain": plain}, metadata


def review_page(place: str | Path, only: str = "") -> ReviewPage:
    """Return the page on which a job is reviewed, or a value tried on it.

    Parameters
    ----------
    place : path
        Job folder, or filed document (PDF).
    only : str, optional
        A subject, such as “mix”, or the beginning of keys: the inputs that are listed; results of the subject stand first.

    Returns
    -------
    ReviewPage

    Raises
    ------
    InputError
        If the job is faulty.
    """
    return ReviewPage(place, only)
