"""Lists to choose from."""

from __future__ import annotations

from textual.style import Style
from textual.widgets import OptionList


class Rows(OptionList):
    """A list without a frame; the chosen line is reversed."""

    DEFAULT_CSS = """
    Rows {
        height: auto; max-height: 100%; border: none; padding: 0; background: $surface;
        &:focus { border: none; background-tint: $surface 0%; }
        & > .option-list--option { padding: 0 0 0 2; }
        & > .option-list--option-highlighted { text-style: none; background: $surface; color: $foreground; }
        &:focus > .option-list--option-highlighted { text-style: none; background: $surface; color: $foreground; }
    }
    """

    def get_visual_style(self, *component_classes: str, partial: bool = False) -> Style:
        """The chosen line reversed: Textual leaves that out of a style sheet's styles here."""
        style = super().get_visual_style(*component_classes, partial=partial)
        chosen = self.has_focus and "option-list--option-highlighted" in component_classes
        return style + Style(reverse=True) if chosen else style

    def steer(self, step: int) -> bool:
        """One line up or down; False at the ends, where the focus goes on."""
        at = (self.highlighted or 0) + step
        if self.highlighted is None or not 0 <= at < self.option_count:
            return False
        self.highlighted = at
        return True
