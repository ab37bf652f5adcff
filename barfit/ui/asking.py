"""Questions that must be answered before anything else."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QMessageBox, QWidget


def ask(window: QWidget, title: str, question: str, more: str, choices: Sequence[str]) -> str:
    """The choice of the user, the first by default; "" when none was made."""
    box = QMessageBox(QMessageBox.Icon.Question, title, question, parent=window)
    box.setInformativeText(more)
    role = QMessageBox.ButtonRole
    buttons = [box.addButton(choice, role.AcceptRole) for choice in choices]
    box.addButton("Cancel", role.RejectRole)
    box.setDefaultButton(buttons[0])
    box.exec()
    clicked = box.clickedButton()
    return next((word for word, one in zip(choices, buttons, strict=True) if one is clicked), "")
