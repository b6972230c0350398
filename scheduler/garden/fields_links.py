"""How addresses, host names, topics and names of files and variables are read.

What may hold a secret by mistake, such as a web address, is never quoted in a fault.
"""

from __future__ import annotations

import re

from scheduler.errors import UnitError
from scheduler.garden.fields import Reader, shown

__all__ = ["Contact", "FileName", "HostName", "MailAddress", "TopicStart", "VariableName", "WebAddress"]

_MAIL = re.compile(r"[!#-;=?A-~]+@[!#-;=?A-~]+", re.ASCII)
_PAGE = re.compile(r"https?://[!-~]+", re.ASCII)
_HOST = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.:-]*[A-Za-z0-9])?", re.ASCII)
_VARIABLE = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,99}", re.ASCII)
_SAFE = re.compile(r"https://[^/?#@\s]+(?:[/?#][!-~]*)?", re.ASCII)
_LOOPBACK = re.compile(
    r"http://(?:localhost|127(?:\.\d{1,3}){3}|\[::1\])(?::\d{1,5})?(?:[/?#][!-~]*)?", re.ASCII
)
_LONGEST = 500


class _Text(Reader):
    """Text between quotes, of bounded length, without signs that cannot be printed."""

    def text(self, value: object) -> str:
        """Return the text without blanks at its ends."""
        wanted = f"write text in quotes, e.g. {self.example()}"
        if not isinstance(value, str):
            raise UnitError(f"{shown(value)} is not text", wanted)
        text = value.strip()
        if not text or len(text) > _LONGEST:
            raise UnitError("the text is empty" if not text else "the text is too long", wanted)
        if not text.isprintable():
            raise UnitError("the text holds signs that cannot be printed", wanted)
        return text


class FileName(_Text):
    """The name of a file, seen from the folder of the plan."""

    def read(self, value: object) -> str:
        """Return the name as written."""
        return self.text(value)


class MailAddress(_Text):
    """An address of mail."""

    def read(self, value: object) -> str:
        """Return the address."""
        text = self.text(value)
        if not _MAIL.fullmatch(text) or text.count("@") != 1:
            raise UnitError(f"{shown(value)} is not an address of mail", f"write e.g. {self.example()}")
        return text


class Contact(_Text):
    """An address of mail, or of a page, by which the person who runs this can be reached."""

    def read(self, value: object) -> str:
        """Return the address."""
        text = self.text(value)
        if not (_MAIL.fullmatch(text) or _PAGE.fullmatch(text)):
            raise UnitError(
                f"{shown(value)} is no address by which you can be reached", f"write e.g. {self.example()}"
            )
        return text


class HostName(_Text):
    """The name of a machine, or its number, without anything before or after it."""

    def read(self, value: object) -> str:
        """Return the name."""
        text = self.text(value)
        if not _HOST.fullmatch(text):
            raise UnitError(
                f"{shown(value)} is not the name of a machine", f"write the name alone, e.g. {self.example()}"
            )
        return text


class WebAddress(_Text):
    """An https address, or an http address of this machine itself, without a name and password in it."""

    def read(self, value: object) -> str:
        """Return the address; a wrong one is not quoted, since part of it may be secret."""
        text = self.text(value)
        if not (_SAFE.fullmatch(text) or _LOOPBACK.fullmatch(text)):
            raise UnitError(
                "this is not an https address, or holds a name and password",
                f"write e.g. {self.example()}; http will do for this machine itself (127.0.0.1)",
            )
        return text


class TopicStart(_Text):
    """The beginning of the topics of a message broker."""

    def read(self, value: object) -> str:
        """Return the topic."""
        text = self.text(value)
        if set("#+") & set(text) or text.startswith(("$", "/")) or text.endswith("/"):
            raise UnitError(
                f"{shown(value)} cannot begin a topic",
                f"write words parted by single slashes, without # and +, e.g. {self.example()}",
            )
        return text


class VariableName(_Text):
    """The name of an environment variable; a wrong one is not quoted, it may be the secret itself."""

    def read(self, value: object) -> str:
        """Return the name."""
        if not isinstance(value, str) or not _VARIABLE.fullmatch(value.strip()):
            raise UnitError(
                "this is not the name of an environment variable",
                f"write the variable's name, never the secret itself, e.g. {self.example()}",
            )
        return value.strip()
