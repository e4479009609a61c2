"""What each command takes. Light, so that ``--help`` and a wrong call need not wait for the tool."""

from __future__ import annotations

import argparse
from pathlib import Path

#: The forms in which a record can be written.
FORMATS = ("csv", "json", "pdf", "calendar")


def chat(parser: argparse.ArgumentParser) -> None:
    """Nothing of its own."""


def replay(parser: argparse.ArgumentParser) -> None:
    """Files to play, and how to show them."""
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help="a .chat file of demo_conversations/, a .jsonl file, or - for JSON lines on standard input",
    )
    parser.add_argument("--json", action="store_true", help="print JSON lines instead of the conversation")
    parser.add_argument(
        "--check", action="store_true", help="compare with what the files expect; status 1 where they part"
    )


def ask(parser: argparse.ArgumentParser) -> None:
    """A question, and how to show the answer."""
    parser.add_argument("question", metavar='"QUESTION"', nargs="+", help="the question, in quotes")
    parser.add_argument("--json", action="store_true", help="print the answer's facts as JSON")
    parser.add_argument("--explain", action="store_true", help="print how the question was read instead of the answer")


def telegram(parser: argparse.ArgumentParser) -> None:
    """How messages arrive; the token comes from the settings, never from here."""
    parser.add_argument(
        "--webhook",
        action="store_true",
        help="let Telegram call webhook_url instead of polling",
    )


def export(parser: argparse.ArgumentParser) -> None:
    """Which batch, and in which form."""
    parser.add_argument("batch", metavar="BATCH", help="its number, or its name")
    parser.add_argument("--format", choices=FORMATS, help="form of the record; else as the file's name says, else csv")
    parser.add_argument("--out", metavar="FILE", type=Path, help="write there instead of to standard output")
    parser.add_argument("--chat", metavar="ID", help="the conversation, where several have such a batch")


def doctor(parser: argparse.ArgumentParser) -> None:
    """Nothing to check, or a copy to make or to put back."""
    action = parser.add_mutually_exclusive_group()
    action.add_argument("--backup", metavar="FILE", type=Path, help="copy the database there, even in use")
    action.add_argument("--restore", metavar="FILE", type=Path, help="check a copy and put it in place")
    parser.add_argument("--of", choices=("terminal", "telegram"), help="whose database, where there are two")
