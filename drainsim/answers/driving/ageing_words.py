"""The ageing answer in plain words, the same in every window."""

from drainsim.answers.driving.ageing import AgeingAnswer
from drainsim.language import Celsius, Message, counted_message, message


def winter_words(year: int) -> str:
    """Return the name of the winter that ends in a year.

    Examples
    --------
    >>> winter_words(2027), winter_words(2100)
    ('2026/27', '2099/00')
    """
    return f"{year - 1}/{year % 100:02d}"


def due_words(answer: AgeingAnswer) -> Message:
    """Return when to replace it, for a table: "winter 2026/27", "would not help" ..."""
    if not answer.case.vehicle.starts:
        return message("starts nothing")
    if answer.replace_before_winter:
        return message("winter {winter}", winter=winter_words(answer.replace_before_winter))
    if answer.new_one_fails:
        return message("would not help")
    return counted_message("not in {number} winter", "not in {number} winters", len(answer.winters))


def ageing_verdict(answer: AgeingAnswer) -> Message:
    """Return the answer in one sentence."""
    limit = 100 * answer.risk_limit
    if not answer.case.vehicle.starts:
        return message(
            "Nothing is started from this battery: its health falls from winter to winter, but no "
            "start can fail."
        )
    if answer.replace_before_winter:
        return message(
            "Replace this battery before the winter of {winter}: from then on the chance that its "
            "coldest start fails is above {limit:g} %.",
            winter=winter_words(answer.replace_before_winter),
            limit=limit,
        )
    if answer.new_one_fails:
        return message(
            "Replacing this battery does not cure its coldest starts: even a new one fails in "
            "{percent:.0f} % of the cases.",
            percent=100 * answer.new_battery_risk,
        )
    if len(answer.winters) == 1:
        return message(
            "In the coming winter the coldest start does not fail with more than {limit:g} %.",
            limit=limit,
        )
    return message(
        "In none of the next {number} winters does the coldest start fail with more than "
        "{limit:g} %.",
        number=len(answer.winters),
        limit=limit,
    )


def coldest_words(answer: AgeingAnswer) -> Message:
    """Return the start every winter is judged by."""
    return message(
        "Coldest morning about {coldest:.0f}, at {charge:.0f} % charge.",
        coldest=Celsius(answer.coldest_c),
        charge=100 * answer.charge,
    )
