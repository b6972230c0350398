"""Notices by e-mail, over SMTP."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Sequence
from email.message import EmailMessage
from email.utils import format_datetime
from ipaddress import ip_address

from scheduler.errors import RillbookError
from scheduler.garden.plan import EmailNotice
from scheduler.publish.secret import read_secret
from scheduler.service.outbox import Letter
from scheduler.service.senders import Post

__all__ = ["is_this_machine", "mail", "send_email"]

#: Port on which a mail server speaks TLS from the first byte (RFC 8314).
IMPLICIT_TLS = 465


def is_this_machine(host: str) -> bool:
    """Return True for names and addresses that never leave the machine."""
    if host == "localhost":
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def mail(letters: Sequence[Letter], receiver: EmailNotice, *, post: Post) -> EmailMessage:
    """Return the letters as one message."""
    message = EmailMessage()
    message["From"] = receiver.sender
    message["To"] = ", ".join(receiver.to)
    things = "1 notice" if len(letters) == 1 else f"{len(letters)} notices"
    message["Subject"] = f"{' '.join(post.garden.split())}: {things}"
    message["Date"] = format_datetime(post.moment)
    # RFC 3834: no answering machine should reply.
    message["Auto-Submitted"] = "auto-generated"
    message.set_content("\n\n".join(letter.text for letter in letters) + "\n")
    return message


def send_email(letters: Sequence[Letter], receiver: EmailNotice, *, post: Post) -> None:
    """Send letters by mail.

    Raises
    ------
    RillbookError
        If the password cannot be had or would go out unencrypted, or if the server did not take the mail.
    """
    where = f"notify > email: {receiver.host}:{receiver.port}"
    password = None if receiver.password is None else read_secret(receiver.password, folder=post.folder)
    if password is not None and not receiver.tls and not is_this_machine(receiver.host):
        raise RillbookError(f"{where}: the password would go out unencrypted; write tls = true")
    try:
        message = mail(letters, receiver, post=post)
        with _connected(receiver, post) as server:
            if password is not None:
                server.login(receiver.user, password)
            missed = server.send_message(message, receiver.sender, list(receiver.to))
    # What the server says is left out: it may repeat what it was sent.
    except smtplib.SMTPResponseException as fault:
        raise RillbookError(f"{where}: refused the mail (SMTP code {fault.smtp_code})") from None
    except smtplib.SMTPException as fault:
        raise RillbookError(f"{where}: did not take the mail ({type(fault).__name__})") from None
    except OSError as fault:
        reason = fault.strerror or type(fault).__name__
        raise RillbookError(f"{where}: cannot be reached ({reason})") from None
    except ValueError:
        raise RillbookError(f"{where}: addresses or password hold what mail cannot carry") from None
    if missed:
        raise RillbookError(f"{where}: refused {', '.join(missed)}")


def _connected(receiver: EmailNotice, post: Post) -> smtplib.SMTP:
    """Return a connection, encrypted if the plan says so."""
    context = post.context or ssl.create_default_context()
    if receiver.tls and receiver.port == IMPLICIT_TLS:
        return smtplib.SMTP_SSL(receiver.host, receiver.port, timeout=post.patience, context=context)
    server = smtplib.SMTP(receiver.host, receiver.port, timeout=post.patience)
    try:
        if receiver.tls:
            server.starttls(context=context)
    except BaseException:
        server.close()
        raise
    return server
