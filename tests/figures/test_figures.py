"""The token language, the catalogue and the fitting of figures, by laws in words.

What tokens mean, and which figures belong to the catalogue, is common practice of the trade.
"""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import FigureError
from engine.figures import (
    Figure,
    catalogue,
    cells,
    find_figure,
    fit,
    mirrored,
    over_changes,
    parse_figure,
    read_catalogue,
    reversed_tail,
    shifted,
    write_catalogue,
)
from engine.figures.value import LEFT_TOKENS, RIGHT_TOKENS
from engine.meter import Meter
from engine.song import Hand

NAMES = ("2/2", "3/4", "4/4", "6/8", "9/8", "12/8", "5/4", "7/8", "2/4", "3/8", "3/2")
METERS = [Meter.parse(name) for name in NAMES]


def _words(hand: Hand) -> st.SearchStrategy[str]:
    known = RIGHT_TOKENS if hand is Hand.RIGHT else LEFT_TOKENS
    alone = [token for token in known if token in "npA"]
    joined = [token for token in known if token not in "npA"]
    struck = st.one_of(
        st.sampled_from(alone),
        st.lists(st.sampled_from(joined), min_size=1, max_size=3, unique=True).map("".join),
    )
    marked = st.tuples(struck, st.sampled_from(("", "_", "~", ">", "_>", "_~>"))).map("".join)
    return st.one_of(marked, st.sampled_from(("x", ".")))


def _texts(hand: Hand) -> st.SearchStrategy[str]:
    return (
        st.lists(_words(hand), min_size=1, max_size=24)
        .filter(lambda words: words[0] != ".")
        .map(" ".join)
    )


@given(st.data(), st.sampled_from(list(Hand)))
@settings(deadline=None, max_examples=120)
def test_a_figure_reads_back_what_it_writes(data: st.DataObject, hand: Hand) -> None:
    figure = parse_figure(data.draw(_texts(hand)), hand)
    assert parse_figure(figure.text, hand) == figure


@given(st.text(alphabet="1234R5890-xnspA._>/ |q", max_size=16), st.sampled_from(list(Hand)))
@settings(deadline=None, max_examples=200)
def test_any_text_is_a_figure_or_an_error_with_its_place(text: str, hand: Hand) -> None:
    error = _error(text, hand)
    if error is None:
        assert parse_figure(text, hand).slots
        return
    assert error.cure
    assert error.place is not None
    assert error.place.text == text
    assert 1 <= error.place.column <= max(1, len(text))
    assert error.place.column - 1 + error.place.length <= max(1, len(text))


def _error(text: str, hand: Hand) -> FigureError | None:
    try:
        parse_figure(text, hand)
    except FigureError as error:
        return error
    return None


@pytest.mark.parametrize(
    ("text", "hand", "column", "length", "words"),
    [
        ("1 2 q", Hand.RIGHT, 5, 1, "“q”"),
        ("1 R", Hand.RIGHT, 3, 1, "other hand"),
        ("R 12", Hand.LEFT, 3, 1, "other hand"),
        (". 1", Hand.RIGHT, 1, 1, "hold"),
        ("1 22", Hand.RIGHT, 4, 1, "twice"),
        ("1 n2", Hand.RIGHT, 3, 2, "depends"),
        ("1 2 3/8", Hand.RIGHT, 6, 2, "evenly"),
        ("  ", Hand.LEFT, 1, 2, "no figure"),
        ("R 5>>", Hand.LEFT, 3, 3, "once"),
    ],
)
def test_errors_say_where_and_what(
    text: str, hand: Hand, column: int, length: int, words: str
) -> None:
    with pytest.raises(FigureError) as caught:
        parse_figure(text, hand)
    place = caught.value.place
    assert place is not None
    assert (place.column, place.length) == (column, length)
    assert words in str(caught.value)


# Every figure of the trade's list, by hand and meter, as its tokens.
TRADE = {
    (Hand.RIGHT, "4/4"): """1 2 3 2 1 2 3 2|1 2 3 2/16|3 2 1 2/8|1 3 2 3/8|1 2 3 1 2 3 1 2
        |3 2 1 3 2 1 3 2|1 23/8|23 1/8|23 1 23 1|123 2 3 2/8|14 2 3 2/8|1 2 3 4 3 2 1 2|4 3 2 1/16
        |x 1 2 3 x 1 2 3|1 2 3 n 3 2 1 2|9 1 2 3 2 3 2 1|1 s 3 s 1 2 3 2|1 2 3 2 1 2 3 p
        |1 2 3 2 1 2 3 A|1 2 3 A . 2 3 A""",
    (Hand.RIGHT, "3/4"): "1 2 3 2 3 2|1 2 3 4 3 2|x 23 23",
    (Hand.RIGHT, "6/8"): "x 1 2 3 2 1|1 2 3 4 3 2|3 2 1 3 2 1",
    (Hand.RIGHT, "12/8"): "1 2 3/12|1 2 3 4 3 2/12",
    (Hand.RIGHT, "2/2"): "1 2 3 2/8|1 2 3 2",
    (Hand.LEFT, "4/4"): """R . . .|R . 5 R R . . .|R8 R8|R 8/8|R . 5 .|R 5 8 5/8|R 5 8 . . . . .
        |R 5 10 5 10 5 10 5|R 5 8 10 8 5 8 5|R 5 8 9 10 . . .|R 3 5 8 9 5 8 5|R 5 3 5/8|R 35/8
        |R 358 5- 358|R . . 5 . . 8 .|R . . R 5 . . .""",
    (Hand.LEFT, "3/4"): "R 35 35|R 5 8|R 5 10 8 10 5",
    (Hand.LEFT, "6/8"): "R 5 8 10 8 5|R . . . R .",
    (Hand.LEFT, "12/8"): "R . . 5 . . 8 . . 5 . .|R . R 5 . ./12",
    (Hand.LEFT, "2/2"): "R 5 8 5",
}


def _plain(figure: Figure) -> list[tuple[tuple[str, ...], bool]]:
    return [(slot.tokens, slot.hold) for slot in figure.slots]


@pytest.mark.parametrize(("hand", "meter"), TRADE)
def test_the_catalogue_has_every_figure_of_the_trade(hand: Hand, meter: str) -> None:
    own = [
        _plain(figure)
        for figure in catalogue()
        if figure.hand is hand and figure.meter == Meter.parse(meter)
    ]
    for text in TRADE[hand, meter].split("|"):
        assert _plain(parse_figure(text.strip(), hand)) in own, text


def test_names_are_unique_and_found_by_either_case() -> None:
    names = [figure.name.casefold() for figure in catalogue()]
    assert len(set(names)) == len(names)
    for figure in catalogue():
        assert find_figure(figure.name.upper(), figure.hand) == figure
        assert 1 <= figure.difficulty <= 5
        assert 0 < figure.slowest < figure.fastest


def test_an_unknown_name_and_one_of_the_other_hand_are_told_apart() -> None:
    with pytest.raises(FigureError, match="no figure of the catalogue"):
        find_figure("falling down", Hand.RIGHT)
    with pytest.raises(FigureError, match="left hand"):
        find_figure("bass alone", Hand.RIGHT)


def test_a_catalogue_of_ones_own_is_read_back_as_written() -> None:
    text = write_catalogue(catalogue())
    assert read_catalogue(text) == catalogue()
    with pytest.raises(FigureError, match="figure “mine”"):
        read_catalogue('[[figure]]\nname = "mine"\nhand = "right"\nmeter = "4/4"\ntokens = "1 q"')
    with pytest.raises(FigureError, match="not complete"):
        read_catalogue('[[figure]]\nname = "mine"')


@given(st.sampled_from(catalogue()), st.sampled_from(METERS))
@settings(deadline=None, max_examples=200)
def test_a_fitted_figure_fills_the_bar_and_each_cell_begins_with_a_cell_of_its_own(
    figure: Figure, meter: Meter
) -> None:
    fitted = fit(figure, meter)
    sizes = cells(meter)
    assert len(fitted.slots) % sum(sizes) == 0
    assert fitted.attacks > 0 or figure.silent
    assert fit(fitted, meter) == fitted
    assert not fitted.slots[0].hold


@pytest.mark.parametrize(
    ("tokens", "meter", "fitted"),
    [
        ("1 2 3 2 1 2 3 2", "3/4", "1 2 3 2 1 2"),
        ("1 2 3 2 1 2 3 2", "6/8", "1 2 3 1 2 3"),
        ("1 2 3 2 1 2 3 2", "5/4", "1 2 3 2 1 2 1 2 3 2"),
        ("1 2 3 2 1 2 3 2", "7/8", "1 2 3 2 1 2 3"),
        ("1 2 3 2", "3/4", "1 2 3"),
        ("R8 R8", "3/4", "R8 . R8"),
        ("x 1 2 3 2 1", "6/8", "x 1 2 3 2 1"),
    ],
)
def test_figures_are_fitted_by_beat_groups(tokens: str, meter: str, fitted: str) -> None:
    hand = Hand.LEFT if "R" in tokens else Hand.RIGHT
    assert find_figure(tokens, hand, Meter.parse(meter)).text == fitted


def test_a_chord_change_inside_the_bar_restarts_the_figure() -> None:
    meter = Meter.parse("4/4")
    half, quarter = Fraction(1, 2), Fraction(1, 4)
    figure = parse_figure("1 2 3 4 3 2 1 2", Hand.RIGHT)

    def texts(*spans: tuple[Fraction, Fraction]) -> list[str]:
        rows = over_changes(figure, meter, spans)
        return [" ".join(slot.text for slot in row) for row in rows]

    assert texts((Fraction(0), half), (half, half)) == ["1 2 3 4", "1 2 3 4"]
    spans = ((Fraction(0), half + quarter), (half + quarter, quarter))
    assert texts(*spans) == ["1 2 3 4 3 2", "1 2"]
    # Where the figure begins again by itself, it goes on as it is.
    again = parse_figure("R . 5 R R . . .", Hand.LEFT)
    rows = over_changes(again, meter, ((Fraction(0), half), (half, half)))
    assert [" ".join(slot.text for slot in row) for row in rows] == ["R . 5 R", "R . . ."]


@given(
    st.sampled_from([figure for figure in catalogue() if figure.hand is Hand.RIGHT]),
    st.sampled_from(METERS[:6]),
)
@settings(deadline=None, max_examples=60)
def test_every_change_of_a_bar_is_struck_or_rests_as_the_figure_does(
    figure: Figure, meter: Meter
) -> None:
    beat = meter.beat
    spans = tuple((beat * at, beat) for at in range(meter.beats))
    for row in over_changes(figure, meter, spans):
        assert any(slot.tokens for slot in row)


@given(_texts(Hand.RIGHT), st.integers(0, 7))
@settings(deadline=None, max_examples=80)
def test_variants_keep_the_rhythm(text: str, by: int) -> None:
    figure = parse_figure(text, Hand.RIGHT)
    for other in (shifted(figure, by), mirrored(figure), reversed_tail(figure)):
        assert [bool(s.tokens) for s in other.slots] == [bool(s.tokens) for s in figure.slots]
        assert [s.accent for s in other.slots] == [s.accent for s in figure.slots]
    if not any("4" in s.tokens for s in figure.slots):
        again = mirrored(mirrored(figure))
        assert [set(s.tokens) for s in again.slots] == [set(s.tokens) for s in figure.slots]
