"""What came of a list: its rows, how it was read, and what only its owner can say."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlfuncs.workbooks.lists.headers import Found, HeadingLines, Wanted
from xlfuncs.workbooks.lists.lines import FileLine, ListFile
from xlfuncs.workbooks.lists.mapping import ListMapping, given_answers, mapping_text
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.values import ValueReader

NUMBERED = "1, 2, 3"  # said of the column that names the rows: they are numbered


@dataclass
class ListRow:
    """One row of the list: its line, its values by column in default units (text as typed where it
    could not be read), and the heading of the block that it stands in."""

    line: FileLine
    values: dict[str, Any]
    block: str = ""


@dataclass
class Reading:
    """What came of a list."""

    file: ListFile
    wanted: Wanted
    system: str
    mapping: ListMapping
    head: HeadingLines | None = None
    headers: Found = field(default_factory=dict)
    unused: Mapping[int, str] = field(default_factory=dict)
    reader: ValueReader = field(default_factory=lambda: ValueReader("us", ".", "YMD", {}, {}))
    below: Sequence[FileLine] = ()
    rows: list[ListRow] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    report: list[str] = field(default_factory=list)

    def ask(
        self, key: tuple[str, ...], words: str, choices: Sequence[str] = (), **more: Any
    ) -> None:
        """Keeps a question, once for each matter; what a word means is one, whatever the row."""
        if not any(q.key == key and (q.words == words or key[:1] == ("words",))
                   for q in self.questions):  # fmt: skip
            self.questions.append(Question(key, words, tuple(choices), **more))

    @property
    def to_answer(self) -> str:
        """A mapping file with what is answered, understood and asked."""
        spare = list(self.unused.values())
        answers = given_answers(self.mapping)
        return mapping_text(answers, self.questions, self.understood, spare)

    def raise_questions(self) -> None:
        """Stops where something must be answered first."""
        if self.questions:
            raise OpenQuestions(tuple(self.questions), self.to_answer)

    @property
    def understood(self) -> dict[str, str]:
        """The headings by the columns that they were taken for."""
        names = self.wanted.table.names
        return {name: self.headers[name][0].text for name in names if name in self.headers}

    def numbers(self, name: str) -> Iterator[Any]:
        """The cells of a column of numbers in the rows."""
        for header in self.headers.get(name, ()):
            yield from (row.line.cell(header.place) for row in self.rows)
