"""Money: exact decimals with their currency, rounded to its smallest coin once, where a line is written.

>>> amount("4.90 EUR", None), amount("0.35", "EUR")
(Fraction(49, 10), Fraction(7, 20))
>>> coins(Fraction(1, 3), "EUR"), coins(Fraction(5, 2), "JPY")
(Decimal('0.33'), Decimal('3'))
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from nesting.errors import InputError

# Decimals of a currency's smallest coin, where they are not two: ISO 4217, from memory.
_DECIMALS = {"JPY": 0, "KRW": 0, "VND": 0, "CLP": 0, "ISK": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3}
HIGHEST = 1_000_000_000
_NUMBER = r"\d{1,12}(?:\.\d{1,20})?"
NEXT = 'Write money = "EUR" (or yours) under [bench] of workshop.toml.'


def amount(value: object, currency: str | None, field: str = "price") -> Fraction:
    """An amount as typed: a number or text in `currency`, or a text that names it itself. Raises InputError.

    A number of TOML or of the stock book counts as the shortest decimal that reads as it: 0.35 is 35 hundredths.
    A price without a currency, or in another than the workshop's, is refused.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        raise InputError(field, 'a price such as 0.35 or "4.90 EUR"', value)
    text = value.strip() if isinstance(value, str) else format(Decimal(str(value)), "f")
    found = re.fullmatch(rf"([^\d\s.,+-]{{0,8}})\s*({_NUMBER})\s*([^\d\s.,+-]{{0,8}})", text)
    if not found or (found.group(1) and found.group(3)):
        hint = "A dot is the decimal point, and no price is below 0."
        raise InputError(field, 'a price such as 0.35 or "4.90 EUR"', text, hint)
    named = found.group(1) or found.group(3)
    if not named and not currency:
        raise InputError(field, "a price with its currency", text, NEXT)
    if named and currency and named != currency:
        raise InputError(field, f"a price in {currency}, the workshop's money", text, "Nothing is converted here.")
    if named and not currency:
        raise InputError(field, "the workshop's money, to add it up with other prices", text, NEXT)
    total = Fraction(found.group(2))
    if total > HIGHEST:
        raise InputError(field, f"at most {HIGHEST:,}", text)
    return total


def coins(value: Fraction, currency: str) -> Decimal:
    """An exact amount rounded to the smallest coin, halves up."""
    step = Decimal(1).scaleb(-_DECIMALS.get(currency.upper(), 2))
    scaled = value / Fraction(step)
    whole = Decimal((2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator))
    return (whole * step).quantize(step, ROUND_HALF_UP)


def shown(value: Decimal | Fraction, currency: str) -> str:
    """An amount with its currency.

    >>> shown(Fraction(12345), "EUR")
    '12,345.00 EUR'
    """
    rounded = coins(value, currency) if isinstance(value, Fraction) else value
    return f"{rounded:,f} {currency}"
