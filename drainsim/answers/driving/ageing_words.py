"""The ageing answer in plain words, the same in every window."""

from drainsim.answers.driving.ageing import AgeingAnswer


def winter_words(year: int) -> str:
    """Return the name of the winter that ends in a year.

    Examples
    --------
    >>> winter_words(2027), winter_words(2100)
    ('2026/27', '2099/00')
    """
    return f"{year - 1}/{year % 100:02d}"


def due_words(answer: AgeingAnswer) -> str:
    """Return when to replace it, for a table: "winter 2026/27", "would not help" ..."""
    if not answer.case.vehicle.starts:
        return "starts nothing"
    if answer.replace_before_winter:
        return f"winter {winter_words(answer.replace_before_winter)}"
    if answer.new_one_fails:
        return "would not help"
    return f"not in {_winters(answer)}"


def ageing_verdict(answer: AgeingAnswer) -> str:
    """Return the answer in one sentence."""
    limit = f"{100 * answer.risk_limit:g} %"
    if not answer.case.vehicle.starts:
        return (
            "Nothing is started from this battery: its health falls from winter to winter, but no "
            "start can fail."
        )
    if answer.replace_before_winter:
        return (
            "Replace this battery before the winter of "
            f"{winter_words(answer.replace_before_winter)}: from then on "
            f"the chance that its coldest start fails is above {limit}."
        )
    if answer.new_one_fails:
        return (
            "Replacing this battery does not cure its coldest starts: even a new one fails in "
            f"{100 * answer.new_battery_risk:.0f} % of the cases."
        )
    if len(answer.winters) == 1:
        return f"In the coming winter the coldest start does not fail with more than {limit}."
    return (
        f"In none of the next {_winters(answer)} does the coldest start fail with more than "
        f"{limit}."
    )


def _winters(answer: AgeingAnswer) -> str:
    count = len(answer.winters)
    return f"{count} winter{'s' if count != 1 else ''}"


def coldest_words(answer: AgeingAnswer) -> str:
    """Return the start every winter is judged by."""
    return (
        f"Coldest morning about {answer.coldest_c:.0f} °C, at {100 * answer.charge:.0f} % charge."
    )
