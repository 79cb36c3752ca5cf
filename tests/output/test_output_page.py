"""The HTML page: nothing from the note runs or is fetched, and a reader finds everything in its place."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from talkaround.models import RepairOrder, Vehicle
from talkaround.output import render

VOID = {"meta", "br", "hr", "img", "input", "link"}


class Reader(HTMLParser):
    """Reads a page strictly: every element closed in order; gathers text, quotations, ids and attributes."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.text: list[str] = []
        self.quotes: list[str] = []
        self.details = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID and not self.is_shape(tag):
            self.open.append(tag)
        if tag == "q":
            self.quotes.append("")

    @staticmethod
    def is_shape(tag: str) -> bool:
        return tag in {"rect", "path"}

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" in self.open or "title" in self.open:
            return
        self.text.append(data)
        if "q" in self.open:
            self.quotes[-1] += data
        if "details" in self.open:
            self.details += data

    @property
    def words(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.text))


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture
def page(rich_order: RepairOrder) -> str:
    return render(rich_order, "html")


def test_page_is_well_formed_and_ids_are_unique(page: str, empty_order: RepairOrder) -> None:
    read(render(empty_order, "html"))
    ids = [value for _, name, value in read(page).attributes if name == "id"]
    assert len(ids) == len(set(ids))
    assert {f"line-{n}" for n in range(1, 13)} <= set(ids)


def test_every_link_leads_to_a_place_on_the_page(page: str) -> None:
    reader = read(page)
    ids = {value for _, name, value in reader.attributes if name == "id"}
    links = [value for _, name, value in reader.attributes if name == "href"]
    assert {"#question-1", "#line-5"} <= set(links)
    assert all(link.startswith("#") and link[1:] in ids for link in links)


def test_nothing_is_fetched_and_nothing_runs(page: str) -> None:
    reader = read(page)
    assert not {"script", "link", "img", "iframe", "object", "embed", "base", "form"} & set(reader.tags)
    assert not [a for a in reader.attributes if a[1] in {"src", "srcset", "action", "style"} or a[1].startswith("on")]
    assert not re.search(r"https?://|url\(|@import|(?<=[\"'(])//", page)


def test_markup_in_the_note_is_shown_and_not_obeyed(page: str) -> None:
    assert "<script" not in page
    assert '<script>alert("hi")</script>' in read(page).quotes
    assert "Replace the left front lower control arm <complete>." in read(page).words
    assert "wagon <1>.txt" in read(page).words


def test_vehicle_description_cannot_leave_the_style_sheet(rich_order: RepairOrder) -> None:
    rich_order.vehicle = Vehicle(description='van"} body{display:none} </style><b>')
    page = render(rich_order, "html")
    style = page[page.index("<style>") : page.index("</style>")]
    assert "display:none} <" not in style
    assert 'Van"} body{display:none} </style><b>' in read(page).words


def test_every_quotation_is_a_slice_of_the_note(page: str, rich_order: RepairOrder) -> None:
    quotes = read(page).quotes
    assert all(quote in rich_order.note.text for quote in quotes)
    for line in rich_order.lines:
        for span in line.evidence:
            words = rich_order.note.text[span.begin : span.end].strip()
            assert any(words in quote for quote in quotes), words


def test_neighbouring_evidence_is_one_quotation_with_its_first_time(page: str) -> None:
    reader = read(page)
    assert (
        "Left front lower ball joint is about to come out, do not drive it. It comes with the arm, one arm ordered"
        in reader.quotes
    )
    assert "0:14" in reader.text
    assert "0:15" not in reader.text
    assert "1:01:11" in reader.text


def test_sections_and_ranks_stand_in_order(page: str) -> None:
    words = read(page).words
    order = (
        "Silver wagon", "keeping it for good", "What the customer reports", "Do not drive", "unsafe", "Needs doing",
        "required", "Advised", "suggested", "Keep an eye on", "monitor", "Found good", "Cautions",
        "Agreed and signed", "Authorized by", "For the shop", "To ask back", "Set aside",
    )  # fmt: skip
    place = 0
    for heading in order:
        assert heading in words[place:], heading
        place = words.index(heading, place)


def test_lines_are_grouped_under_their_rank_even_when_given_out_of_order(rich_order: RepairOrder) -> None:
    rich_order.lines.reverse()
    words = read(render(rich_order, "html")).words
    parts = ("Brake hose", "Brake pads", "Drag link", "Rear main seal", "12-volt battery")
    places = [words.index(part) for part in parts]
    assert places == sorted(places)


def test_each_line_says_what_where_and_what_to_do(page: str) -> None:
    words = read(page).words
    for said in (
        "Lower ball joint , left front", "Very loose", "Part: lower control arm × 1", "With it: wheel alignment",
        "Part on order", "Brake hose , right rear", "Wrong part came",
        "Pad thickness 2 mm (limit 3 mm, past the limit)", "Brake rotor , front, both sides",
        "Part: brake rotor × 2", "Drag link , axle 2, right", "Slightly loose", "Spark plug , cylinder 3, bank 1",
        "Done on this visit", "Declined by customer", "Rear main seal , center", "Seeping slightly",
        "Reported, not seen by the technician", "Tread depth 9/32 in (limit 2/32 in); pressure 33 psi",
        "Voltage 12.6 V", "The joint is very loose.", "118,400 mi",
    ):  # fmt: skip
        assert said in words, said


def test_no_work_is_offered_for_agreement_that_is_done_declined_or_only_watched(rich_order: RepairOrder) -> None:
    def boxes(order: RepairOrder) -> int:
        return render(order, "html").count('class="agree"')

    # Twelve lines less one done, one declined, one to watch, and two that are good.
    assert boxes(rich_order) == 7
    rich_order.lines[0].work = "done"
    assert boxes(rich_order) == 6


def test_every_question_is_shown_with_a_box_for_each_choice(page: str, rich_order: RepairOrder) -> None:
    words = read(page).words
    asked = page[page.index('<section class="questions"') : page.index('<section class="set-aside"')]
    for question in rich_order.questions:
        assert question.text in words
    assert asked.count('class="box"') == sum(len(q.choices) for q in rich_order.questions)


def test_set_aside_words_are_folded_with_their_reasons(page: str) -> None:
    details = read(page).details
    for said in ("Not understood", "mumble wug", "(no part sounds like this)", "About another vehicle",
                 "The coupe in bay two has the bad rack", "6 passages"):  # fmt: skip
        assert said in details, said


def test_unknown_facts_leave_room_for_a_pen(page: str) -> None:
    header = page[page.index("<header>") : page.index("</header>")]
    unknown = re.findall(r'class="fact unknown"><dt>([^<]+)', header)
    assert unknown == ["Customer", "Date", "Year and make", "VIN", "Plate"]


def test_right_hand_drive_is_spelled_the_british_way(rich_order: RepairOrder) -> None:
    rich_order.vehicle = Vehicle(description="van", steering="right-hand")
    page = render(rich_order, "html")
    words = read(page).words
    assert "Authorised by" in words and "Labour" in words and "Rear main seal , centre" in words
    assert "Authorized" not in words
    assert '<html lang="en-GB">' in page


def test_prints_on_any_paper_in_black_with_headers_repeated(page: str) -> None:
    print_rules = page[page.index("@media print") :]
    assert "@page" in print_rules and not re.search(r"[{;\s]size\s*:", print_rules)
    assert "table-header-group" in print_rules and "break-inside: avoid" in print_rules
    assert "--paper: #fff; --ink: #000" in print_rules
    assert "@media screen and (prefers-color-scheme: dark)" in page


def test_no_hue_tells_the_rank(page: str) -> None:
    style = page[page.index("<style>") : page.index("</style>")]
    ranked = [rule for rule in re.findall(r"([^{}]*)\{([^{}]*)\}", style)
              if re.search(r"\.(unsafe|required|suggested|monitor|good)\b", rule[0])]  # fmt: skip
    assert ranked
    # Rules for a rank may only use the plain ink and its softer shade.
    for _, body in ranked:
        assert not re.search(r"#[0-9a-f]{3}|rgb|hsl|\b(?:red|green|yellow|amber|orange)\b", body)
        assert set(re.findall(r"var\(--([\w-]+)\)", body)) <= {"ink", "strong", "soft", "rule"}


def test_empty_order_still_reads_as_an_order(empty_order: RepairOrder) -> None:
    words = read(render(empty_order, "html")).words
    for said in ("Repair order", "empty.txt", "The note reports nothing from the customer.",
                 "The note names nothing to do or to watch.", "Nothing is left open.", "Technician"):  # fmt: skip
        assert said in words, said
    assert "Found good" not in words and "Cautions" not in words
