"""Tax on an estimate, rounded where the shop's setting says.

References
----------
Decimals of currencies: [ISO4217], from memory for those without a coin below the unit.
"""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from turnwell.web.shop.models import Shop, TaxRounding

__all__ = ["HIGHEST_PRICE", "smallest_coin", "tax_on"]

HIGHEST_PRICE = Decimal(1_000_000)
# Currencies that are counted in whole units; the rest are kept to the hundredth.
WHOLE_UNITS = frozenset(
    {
        "BIF",
        "CLP",
        "DJF",
        "GNF",
        "ISK",
        "JPY",
        "KMF",
        "KRW",
        "PYG",
        "RWF",
        "UGX",
        "UYI",
        "VND",
        "VUV",
        "XAF",
        "XOF",
        "XPF",
    }
)


def smallest_coin(currency: str) -> Decimal:
    """Give the step that amounts of a currency are kept in.

    >>> smallest_coin("USD"), smallest_coin("JPY")
    (Decimal('0.01'), Decimal('1'))
    """
    return Decimal(1) if currency in WHOLE_UNITS else Decimal("0.01")


def tax_on(prices: Sequence[Decimal], shop: Shop) -> Decimal:
    """Give the tax on the lines of one option, halves rounded away from zero.

    Rounded on each line, or once on the total, by the shop's setting.

    >>> from turnwell.web.shop.models import Shop
    >>> lines = [Decimal("10.05"), Decimal("10.05")]
    >>> tax_on(lines, Shop(tax_percent=Decimal("10"), tax_rounding="line"))
    Decimal('2.02')
    >>> tax_on(lines, Shop(tax_percent=Decimal("10"), tax_rounding="total"))
    Decimal('2.01')
    """
    coin = smallest_coin(shop.currency)
    rate = Decimal(shop.tax_percent) / 100
    if shop.tax_rounding == TaxRounding.LINE:
        return sum(
            ((price * rate).quantize(coin, ROUND_HALF_UP) for price in prices), start=Decimal(0)
        )
    return (sum(prices, start=Decimal(0)) * rate).quantize(coin, ROUND_HALF_UP)
