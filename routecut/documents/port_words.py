"""Ports in the words of the workshop: ``voice radio.control`` of the job is printed ``voice radio / control``.

Stage      documents; only names the job has are rewritten, wherever in a text they stand
"""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.etree.ElementTree import Element

from routecut.model.job import Job, Port
from routecut.plain import plain


def port_text(port: Port) -> str:
    """A port as it is printed.

    Examples
    --------
    >>> from types import SimpleNamespace as N
    >>> port_text(N(device="voice radio", name="control"))
    'voice radio / control'
    """
    return f"{port.device} / {port.name}"


def worded(job: Job) -> Callable[[str], str]:
    """What rewrites every port of a job within a text, and leaves all else as it is.

    Parameters
    ----------
    job : Job

    Returns
    -------
    callable
        From text to text. The text may have been made safe to print (`plain`) or not.
    """
    said: dict[str, str] = {}
    for device in job.devices:
        for port in device.ports:
            said[port.full_name] = port_text(port)
            said[plain(port.full_name)] = plain(port_text(port))
    if not said:
        return lambda text: text
    longest_first = sorted(said, key=lambda name: (-len(name), name))
    named = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)")
    return lambda text: named.sub(lambda found: said[found[0]], text)


def reword(element: Element, words: Callable[[str], str]) -> Element:
    """Rewrite every text of a tree, and what is read aloud of it, in place."""
    for one in element.iter():
        one.text = words(one.text) if one.text else one.text
        one.tail = words(one.tail) if one.tail else one.tail
        if "aria-label" in one.attrib:
            one.set("aria-label", words(one.attrib["aria-label"]))
    return element
