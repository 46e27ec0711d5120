"""Text of people made harmless: what nobody sees does not pass."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from engine.text import clean

# Default_Ignorable_Code_Point of the Unicode Character Database 14.0 (DerivedCoreProperties.txt), as another program's copy
# of it has the ranges (perl 5.36, \p{Default_Ignorable_Code_Point}).
IGNORABLE = """00AD-00AD 034F-034F 061C-061C 115F-1160 17B4-17B5 180B-180F 200B-200F 202A-202E 2060-206F 3164-3164 FE00-FE0F FEFF-FEFF
FFA0-FFA0 FFF0-FFF8 1BCA0-1BCA3 1D173-1D17A E0000-E0FFF"""


def ignorable():
    for span in IGNORABLE.split():
        low, high = (int(end, 16) for end in span.split("-"))
        yield from map(chr, range(low, high + 1))


@pytest.mark.parametrize("char", ["\u3164", "\u2800", "\ufe0f", "\ufe0e", "\u115f", "\u1160", "\uffa0", "\u034f", "\u180b", "\u17b4", "\U000e0041", "\U000e0101", "\U000e007f", "\ufffc", "\U0001d159", "\U00016fe4", "\u00ad", "\u200d", "\u2062"])
def test_what_nobody_sees_is_shown_as_such(char):
    assert clean(f"Pu{char}mp") == "Pu\N{REPLACEMENT CHARACTER}mp"
    assert clean(char) == "\N{REPLACEMENT CHARACTER}"


def test_no_default_ignorable_character_passes():
    passed = [f"{ord(char):04X}" for char in ignorable() if char in clean(f"a{char}b")]
    assert passed == []


def test_what_passes_is_a_plain_space_or_seen():
    """Every character there is, in lines of a thousand."""
    every = [chr(code) for code in range(sys.maxunicode + 1)]
    passed = {char for at in range(0, len(every), 1000) for char in clean("".join(every[at : at + 1000]), 10_000)}
    assert len(passed) > 100_000
    assert " " in passed
    bad = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp", "Zs"}
    assert {char for char in passed if unicodedata.category(char) in bad} == {" "}
    assert not passed & {*ignorable(), "\u2800"}


def test_letters_marks_and_signs_of_any_script_pass():
    for name in ("Mühle", "水車小屋", "Мельница", "물레방아", "चक्की", "Ω 3", "Œuvre", "Łódź"):
        assert clean(name) == unicodedata.normalize("NFC", name)
