"""Keys done by the widget they were sent to.

Textual looks a key's binding up only when the key has come back from the widget; by then another widget may have the
focus, and a Backspace typed just before Enter would delete in the next question. So our widgets look them up themselves.
"""

from __future__ import annotations

from textual import events
from textual.binding import NoBinding
from textual.widget import Widget


async def own_key(widget: Widget, event: events.Key) -> None:
    """Run the widget's own binding of a key, if it has one, and let nobody else see the key."""
    try:
        found = widget._bindings.get_bindings_for_key(event.key)  # noqa: SLF001 - there is no public way to ask for them
    except NoBinding:
        return
    for binding in found:
        if not binding.priority:
            event.stop()
            event.prevent_default()
            await widget.run_action(binding.action)
            return
