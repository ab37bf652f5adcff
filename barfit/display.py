"""Whether a window can be shown at all, found out without the windowing library.

Qt aborts the whole process where it cannot reach a display; asking first lets a command do
something else instead.
"""

from __future__ import annotations

import os
import socket
import sys


def no_display() -> str:
    """Why no window can be shown here, as the start of a sentence; "" where one can."""
    if sys.platform in ("win32", "darwin", "cygwin"):
        return ""
    platform = os.environ.get("QT_QPA_PLATFORM", "").partition(":")[0].partition(";")[0]
    if platform not in ("", "xcb", "wayland"):
        return ""  # asked for something else: offscreen, a remote display…
    if os.environ.get("WAYLAND_DISPLAY") and platform != "xcb":
        return ""
    display = os.environ.get("DISPLAY", "")
    if not display:
        return "There is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)"
    number = display.removeprefix("unix").removeprefix(":").partition(".")[0]
    if display.startswith(("unix:", ":")) and number.isdecimal() and not _x_answers(number):
        return f"Nothing answers on display {display}"  # Qt would abort the whole process
    return ""


def _x_answers(number: str) -> bool:
    """Whether an X server listens on the local display of that number."""
    path = f"/tmp/.X11-unix/X{number}"
    for address in ("\0" + path, path):
        with socket.socket(socket.AF_UNIX) as knock:
            try:
                knock.connect(address)
            except OSError:
                continue
            return True
    return False
