"""24 hours as bars from sunset on: loads, sun, generator, and the state of the bank. 80 columns, ASCII."""

from __future__ import annotations

from engine.sheets.text.layout import wrapped
from engine.stages.hours.part import Hour, Hours

_BAR = 20


def day_text(hours: Hours, source: str = "supply") -> list[str]:
    """A line for each hour: `#` the loads, `+` the sun, `=` the state; the source in figures where it runs. Nothing where there is no day."""
    if not hours.hours:
        return []
    most = max(max(hour.load.value, hour.solar.value) for hour in hours.hours) or 1.0
    runs = any(hour.generator.value > 0 for hour in hours.hours)
    begins = f"24 hours from a full bank at {hours.hours[0].hour:02d}:00, the bank as each hour ends."
    lines = [
        *(wrapped(f"Load, sun and bank: {hours.scope}. {begins}", " ") if hours.scope else []),
        f" hour  {'load #':<{_BAR}} {'sun +':<{_BAR}} {'bank =':<{_BAR}} {source if runs else ''}".rstrip(),
        f" {'-' * 4}  {'-' * _BAR} {'-' * _BAR} {'-' * _BAR} {'-' * 9 if runs else ''}".rstrip(),
    ]
    lines += [_line(hour, most) for hour in hours.hours]
    return [*lines, f" Full bars: {_kilowatts(most)} of load and sun, a full bank."]


def _line(hour: Hour, most: float) -> str:
    runs = _kilowatts(hour.generator.value) if hour.generator.value > 0 else ""
    bars = (_bar("#", hour.load.value / most), _bar("+", hour.solar.value / most), _state(hour))
    return f" {hour.hour:02d}    {' '.join(f'{bar:<{_BAR}}' for bar in bars)} {runs}".rstrip()


def _state(hour: Hour) -> str:
    return f"{_bar('=', hour.state.value, _BAR - 6):<{_BAR - 6}} {hour.state.value:4.0%}"


def _bar(mark: str, share: float, columns: int = _BAR) -> str:
    """A bar of whole marks; a little is still seen."""
    if share <= 0:
        return ""
    return mark * max(1, round(min(share, 1.0) * columns))


def _kilowatts(watts: float) -> str:
    return f"{watts / 1000:.2f} kW"
