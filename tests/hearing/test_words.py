"""Words said against words heard."""

from assistant.hearing.words import aligned, confused, errors, number_words


def test_alignment_finds_the_cheapest_changes() -> None:
    assert aligned("a b c".split(), "a x c".split()) == [("a", "a"), ("b", "x"), ("c", "c")]
    assert aligned("a b c".split(), "a c".split()) == [("a", "a"), ("b", "-"), ("c", "c")]
    assert aligned("a c".split(), "a b c".split()) == [("a", "a"), ("-", "b"), ("c", "c")]
    assert aligned([], ["a"]) == [("-", "a")]
    assert aligned([], []) == []


def test_errors_are_changes() -> None:
    assert errors("twelve feet six".split(), "twelve feet six".split()) == 0
    assert errors("twelve feet six".split(), "twelve foot".split()) == 2
    assert errors("six".split(), []) == 1


def test_number_words_are_those_with_a_figure() -> None:
    found = number_words()
    assert {"zero", "six", "sixteen", "sixty", "hundred", "half", "quarters", "sixteenths"} <= found
    assert not {"a", "an", "and", "inch", "feet", "point"} & found


def test_only_confusions_of_numbers_are_counted() -> None:
    twice = [("thirteen feet", "thirty feet"), ("thirteen inches", "thirty inches")]
    found = confused([*twice, ("six foot", "six feet"), ("a half", "half")])
    assert found == {("thirteen", "thirty"): 2}
    assert confused([("four hundred inches", "four inches")]) == {("hundred", "-"): 1}
