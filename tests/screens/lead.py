"""The lead's side for presenter tests: an open visit book and a session with nothing shown."""

from __future__ import annotations

from tests.facts import PASSPHRASE


class Lead:
    """An open visit book, and a session whose sheets and ways are written down instead of shown."""

    def __init__(self, visit):
        self.visit = visit
        self.went, self.told, self.asked, self.typed = [], [], [], []
        self.session = visit.session(visit.book, exchange=visit.folder)
        self.session.desk = self.desk = visit.open(str(visit.book), PASSPHRASE)
        self.session.go = lambda name, **more: self.went.append((name, more))
        self.session.tell = lambda title, words: self.told.append((title, words))
        self.session.ask = self._ask
        self.session.ask_text = lambda *words, **more: self.typed.append((words, more))

    def _ask(self, title, words, choices):
        self.asked.append((title, words, {text: act for text, _rank, act in choices}))

    def choose(self, text):
        """Press a button of the newest sheet."""
        self.asked[-1][2][text]()

    def offered(self):
        """What the newest sheet offers."""
        return list(self.asked[-1][2])

    def child(self, given):
        """The record id of the child with that given name."""
        return next(s.child for s in self.desk.standings() if s.person.given == given)

    def standing(self, given):
        """Where that child stands."""
        return self.desk.ledger.register.standing(self.child(given))

    def day(self, *walks):
        """Walks on tablet C (given name, answers), gathered."""
        self.visit.day(*walks)
        return self.gather()

    def gather(self):
        """Gather what tablet C gave back."""
        return self.desk.gather([self.visit.returned])

    def show(self, presenter, **arguments):
        """A screen's presenter, entered."""
        made = presenter(self.session)
        if hasattr(made, "enter"):
            made.enter(**arguments)
        return made
