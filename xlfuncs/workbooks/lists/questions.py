"""What only the owner of a list can say, and where the mapping file says it."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from xlfuncs.errors import WorkbookError

WHICH = "Which column gives "
LEAVE_OUT = "leave out "  # before the lines, where a value may be given in their place


@dataclass(frozen=True)
class Question:
    """One question, in words.

    `key` is where the mapping file answers it, such as ("decimal",) or ("columns", "length"); it
    is empty where only the list itself can be put right. `choices` are the possible answers, none
    where any text may be one; a column, or a value for all rows, may also be one of the headings
    `columns`, of whatever they were taken for.
    Where rows may be left out, `instead` is the column of which values may be given in their place.
    A choice has a number of its own only if no number is an answer (`number`): it is else typed.
    A question that is put for `later` may stay open; `default` is what no answer means. Where
    `proposed` says why, it stands alone, and the words and choices behind "?". `fault`
    says what is wrong with an answer, and `echo` how one is taken that a person should look over,
    with what makes it doubtful.
    `dated` is the setting that keeps the day of the answer.
    """

    key: tuple[str, ...]
    words: str
    choices: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    later: bool = False
    default: str = ""
    proposed: str = ""
    samples: tuple[str, ...] = ()  # what stands under the heading that is each choice
    instead: str = ""
    number: bool = False
    dated: str = ""
    fault: Callable[[str], str] = field(default=lambda answer: "", compare=False)
    echo: Callable[[str], tuple[str, str]] = field(default=lambda _: ("", ""), compare=False)

    @property
    def prompt(self) -> str:
        """What stands before the answer: what Enter does."""
        if not (self.default or self.later):
            return "(needed)"
        enter = ", ".join(filter(None, (self.default or "later", self.proposed)))
        if not self.folded:
            return f"(Enter: {enter})"
        name = re.split(r":| \(", self.words)[0].removeprefix(WHICH)
        return f"{name} (Enter: {enter}; ? for others)"

    @property
    def folded(self) -> bool:
        """Whether one answer is proposed, so that the others need not be read."""
        return bool(self.default and self.proposed)

    @property
    def numbered(self) -> bool:
        return not (self.number or any(choice.isdigit() for choice in self.choices))

    @property
    def explained(self) -> str:
        """What is said to who types "?": what the answer does, what to type, where it changes."""
        known = tomllib.loads(Path(__file__).with_name("explained.toml").read_text("utf-8"))
        keys = self.key[:1] if self.key[:1] == ("words",) else (*self.key[::-1], "other")
        return str(next(known[key] for key in keys if key in known))

    @property
    def answer(self) -> str:
        """The line of the mapping file, ready to be filled in."""
        *section, name = self.key
        value = self.choices[0].removeprefix(LEAVE_OUT) if self.choices else ""
        listed = name in ("add", "leave_out")
        line = f"{quoted_key(name)} = {f'[{value}]' if listed else quoted(value)}"
        return "".join(f"[{part}] " for part in section) + line

    def option(self, answer: str = "") -> str:
        """The option of import-ledger that gives an answer, as it is typed."""
        *section, name = self.key
        value = answer or (self.choices[0] if self.choices else "")
        pair = {"columns": "--column", "words": "--as"}.get("".join(section))
        if pair:
            return f'{pair} "{name}={value}"'
        option = "decimal-mark" if name == "decimal" else name.replace("_", "-")
        return (
            f"--{option} {value}" if re.fullmatch(r"[\w.,-]+", value) else f'--{option} "{value}"'
        )

    def __str__(self) -> str:
        if not self.key:
            return self.words
        others = ", ".join(quoted(choice) for choice in self.choices[1:])
        return f"{self.words}\n    in the mapping file: {self.answer}" + (
            f" (or {others})" if others else ""
        )


class OpenQuestions(WorkbookError):  # noqa: N818 - not an error of anybody's
    """What the owner of the list has to answer before anything is done; `mapping` to answer in,
    `where` to find it."""

    def __init__(self, questions: tuple[Question, ...], mapping: str = "", where: str = "") -> None:
        self.questions = list(questions)
        self.mapping = mapping
        listed = "\n".join(f"? {question}" for question in questions)
        words = f"These questions must be answered first; nothing was done:\n{listed}"
        super().__init__(f"{words}\n\n{where}" if where else words)


def quoted(text: str) -> str:
    """Text as TOML writes it."""
    marked = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return '"' + marked.replace("\t", "\\t") + '"'


def quoted_key(text: str) -> str:
    """A key of TOML, bare where it may be."""
    return (
        text
        if text.replace("_", "").isascii() and text.replace("_", "").isalnum()
        else quoted(text)
    )
