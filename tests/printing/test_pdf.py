"""Sheets and plans as PDF: the size of the paper, what is printed, its tags, and text that tries to be markup."""

import re
from datetime import date
from itertools import pairwise

import pytest

from coatwright.errors import OutOfRange
from coatwright.patterns import zones
from coatwright.printing import plan_pdf, sheet_pdf
from coatwright.printing.pdf import picture_day
from coatwright.printing.sheet import Over
from coatwright.printing.sheet_view import sheet_view
from coatwright.printing.typeset import PrintError, name_of
from coatwright.salon.charts import printed_ribbons
from tests.printing.making import PICTURE, SHOW, document, hairs, reader, sheet, sheet_zone, text_of

MM_PER_POINT = 25.4 / 72.0
"""A point of PDF is 1/72 inch (ISO 32000-1, 8.3.2.3, from memory)."""

# A4 by ISO 216, Letter 8 1/2 x 11 in by ANSI/ASME Y14.1, both from memory; mm.
PAPERS = [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)]

HOSTILE = [
    '#import "@preview/x:1.0.0"',
    "#panic()",
    "C:\\temp\\n",
    "]}) *bold* _slant_ $x^2$ `raw` <label> @ref",
    "= Heading",
    "// comment",
    "#sys.inputs",
    "\"quoted\" 'single' {{ x }}",
]


@pytest.fixture(scope="module")
def page():
    return sheet_pdf(sheet(), picture_svg=PICTURE)


@pytest.fixture(scope="module")
def plan():
    return plan_pdf(document(), picture_svg=PICTURE)


@pytest.mark.parametrize(("paper", "width", "height"), PAPERS)
@pytest.mark.parametrize("kind", ["sheet", "plan"])
def test_paper_has_the_size_of_its_standard_to_the_millimetre(paper, width, height, kind):
    pdf = sheet_pdf(sheet(), paper=paper) if kind == "sheet" else plan_pdf(document(), paper=paper)
    for one in reader(pdf).pages:
        assert float(one.mediabox.width) * MM_PER_POINT == pytest.approx(width, abs=0.05)
        assert float(one.mediabox.height) * MM_PER_POINT == pytest.approx(height, abs=0.05)


def test_a_sheet_tells_the_dog_the_day_and_every_zone_in_working_order(page):
    text = text_of(page)
    assert "Bramble" in text
    assert "Wednesday 2 December 2026" in text
    assert "owner Ada Merton, handler Jo Finch" in text
    places = [text.index(f" {zones()[key].name} 20 %") for key in list(zones())[:6]]
    assert places == sorted(places)
    assert text.count("19–25 mm, 11–14 weeks") == 6
    assert text.count("80 → 60 %") == 6


def test_a_sheet_carries_the_stop_list_the_cautions_and_what_comes_next(page):
    text = text_of(page)
    assert "stop when – the skin turns red – the dog cries Leave the zone for today." in text
    assert "stop · a vet first Not on irritated skin." in text
    assert "take care · tender skin Small takes." in text
    assert "16 Dec 113 min; 6 Jan 2027 95 min" in text
    assert "14 Mar 2027 Harrow Vale, Great Ashby: not ready: ribs; entries close 1 Feb 2027" in text
    assert "spared today Tail: 35 % went on 18 Nov where 20 % was planned; next take 16 Dec." in text


def test_a_tender_zone_shows_its_cap_and_an_over_taken_one_why_it_is_spared():
    throat = sheet_zone("throat", share=0.15, over=Over(date(2026, 11, 18), 0.2, 0.35))
    text = text_of(sheet_pdf(sheet(zones=(throat,))))
    assert "tender, 25 % at most" in text
    assert "spared: 35 % went on 18 Nov where 20 % was planned" in text


def test_lengths_come_in_inches_to_the_eighth_where_they_are_wished():
    # 19.2 mm is 0.756 in and 25.0 mm 0.984 in: 3/4 and 1 to the nearest eighth; an inch is 25.4 mm exactly.
    text = text_of(sheet_pdf(sheet(1), unit="in"))
    assert "¾–1 in, 11–14 weeks" in text
    assert " mm" not in text


def test_parts_of_a_take_are_told_longest_first():
    parts = (
        hairs(),
        hairs(weeks_from=9, weeks_to=9, mm_from=16.0, mm_to=16.0, share=0.05, standing=0.1),
        hairs(kind="resting", mm_from=74.6, mm_to=75.2),
        hairs(kind="cut", mm_from=3.0, mm_to=9.0, share=0.02, standing=0.06),
        hairs(weeks_from=6, weeks_to=6, mm_from=7.0, mm_to=7.0, young=True),
    )
    said = sheet_view(sheet(zones=(sheet_zone("back", hairs=parts),)), "mm")["zones"][0]["hairs"]
    assert said.replace("\u202f", " ") == (
        "19–25 mm, 11–14 weeks; then half of the 16 mm, 9 weeks; then the full-grown, 75 mm; "
        "then a third of the blunt hair, 3–9 mm; then the 7 mm, 6 weeks, young"
    )


@pytest.mark.parametrize("count", [1, 9, 21])
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("picture", [None, PICTURE])
def test_a_sheet_fits_one_sheet_of_paper(count, paper, picture):
    full = sheet(count, notes="Leans on the table when bored. " * 40)
    pdf = sheet_pdf(full, paper=paper, picture_svg=picture)
    pages = [" ".join(one.extract_text().split()) for one in reader(pdf).pages]
    assert len(pages) == (1 if count < 10 else 2)
    assert all(zone.name in pages[0] for zone in full.zones)
    assert pages[0].index("stop when") < pages[0].index(full.zones[0].name)
    assert "spared today" in pages[0]
    assert ("overleaf" in pages[0]) == (len(pages) == 2)
    for words in ("Measure again.", "at the table", "longest hair, mm", "in pain: stopped", "afterwards"):
        assert words in pages[-1]
    assert pages[-1].startswith("Bramble Wednesday 2 December 2026") or len(pages) == 1


def test_what_to_lay_out_and_do_afterwards_is_printed_and_left_out_where_there_is_nothing():
    text = text_of(sheet_pdf(sheet(2)))
    assert "lay out Chalk; mask." in text
    assert "afterwards Brush out all chalk. Log it." in text
    bare = text_of(sheet_pdf(sheet(2, tools=(), aftercare=())))
    assert "lay out" not in bare
    assert "afterwards" not in bare


def test_every_zone_has_a_box_to_tick_and_a_place_for_what_was_taken():
    """Both are drawn: two strokes of the pen (operator S, ISO 32000-1, 8.5.3, from memory) more per zone."""
    one, many = (reader(sheet_pdf(sheet(count))).pages[0].get_contents().get_data() for count in (1, 6))
    strokes = [len(re.findall(rb"\bS\b", data)) for data in (one, many)]
    assert strokes[1] - strokes[0] == 2 * 5


def test_a_sheet_of_a_dog_with_endless_names_still_fits_one_sheet_of_paper():
    over = Over(date(2026, 11, 18), 0.2, 0.35)
    rows = tuple(
        sheet_zone(zone.key, over=over, hairs=(hairs(), hairs(kind="cut"))) for zone in sheet(21).zones
    )
    pdf = sheet_pdf(sheet(zones=rows, dog="W" * 200, owner="Ow " * 66, handler="H" * 200))
    assert len(reader(pdf).pages) == 2
    printed = re.sub(r"[\s\u200b]", "", text_of(pdf))
    assert "W" * 200 in printed
    assert "Measureagain." in printed


@pytest.mark.parametrize("name", HOSTILE)
def test_what_a_user_wrote_is_printed_and_never_read_as_markup(name):
    pdf = sheet_pdf(sheet(2, dog=name, owner=name, notes=name))
    assert len(reader(pdf).pages) == 1
    assert text_of(pdf).count(" ".join(name.split())) == 3


def test_names_in_other_scripts_are_printed_in_their_own_letters():
    # Arabic runs from right to left: its letters are looked for, not their order on the page.
    arabic, greek, polish = "سلمى", "Ελλάδα", "Żółć"
    text = text_of(sheet_pdf(sheet(1, dog=polish, owner=f"{greek} {arabic}")))
    assert greek in text
    assert polish in text
    assert set(arabic) <= set(text)


def test_a_letter_that_no_face_has_is_told_by_its_name():
    assert name_of("\U0001f415") == "[dog]"
    assert name_of("\U0001f469\u200d\U0001f33e") == "[woman ear of rice]"
    # U+10FFFD is private: no face has it on any machine.
    text = text_of(sheet_pdf(sheet(1, dog="Bram\U0010fffdble")))
    assert "Bram[U+10FFFD]ble" in text


def test_an_emoji_in_a_name_is_printed_as_itself_or_as_its_name():
    text = text_of(sheet_pdf(sheet(1, dog="Bramble \U0001f415")))
    assert "Bramble [dog]" in text or "Bramble \U0001f415" in text


def test_control_characters_and_turns_of_direction_are_left_out():
    text = text_of(sheet_pdf(sheet(1, dog="Br\x00am\x1b\u202eble", notes="one\ntwo\tthree")))
    assert "Bramble" in text
    assert "one two three" in text


# PDF/UA-1 is ISO 14289-1:2014; what it asks for is quoted from memory.


def structure(pdf):
    """Every structure element of a tagged PDF."""
    found, waiting = [], [reader(pdf).trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        one = waiting.pop()
        kids = one.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            each = kid.get_object()
            if hasattr(each, "get") and "/S" in each:
                found.append(each)
                waiting.append(each)
    return found


def in_order(pdf):
    """Every structure element in the order of reading."""
    found = []

    def walk(one):
        kids = one.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            each = kid.get_object()
            if hasattr(each, "get") and "/S" in each:
                found.append(each)
                walk(each)

    walk(reader(pdf).trailer["/Root"]["/StructTreeRoot"])
    return found


@pytest.mark.parametrize("kind", ["page", "plan"])
def test_it_says_that_it_is_pdf_ua_1_with_title_and_language(kind, request):
    pdf = request.getfixturevalue(kind)
    root = reader(pdf).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value is True
    assert str(root["/Lang"]) == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert "<pdfuaid:part>1</pdfuaid:part>" in reader(pdf).xmp_metadata.stream.get_data().decode()
    assert reader(pdf).metadata.title.startswith(
        {"page": "Visit sheet: Bramble", "plan": "Plan: Bramble"}[kind]
    )


@pytest.mark.parametrize("kind", ["page", "plan"])
def test_its_tags_name_headings_table_heads_and_the_picture_in_words(kind, request):
    tags = structure(request.getfixturevalue(kind))
    names = [str(tag["/S"]) for tag in tags]
    assert names.count("/H1") == 1
    assert "/H2" in names
    assert "/TH" in names
    assert names.count("/Figure") == 1
    picture = next(tag for tag in tags if tag["/S"] == "/Figure")
    assert "Bramble from the side" in str(picture["/Alt"])


def test_headings_begin_with_the_one_of_the_whole_and_leave_no_level_out(page, plan):
    for pdf in (page, plan):
        levels = [int(str(tag["/S"])[2:]) for tag in in_order(pdf) if re.fullmatch(r"/H\d", str(tag["/S"]))]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(after <= before + 1 for before, after in pairwise(levels))


def test_ribbons_come_as_a_figure_in_words_beside_the_table_that_says_the_same(plan):
    drawn = plan_pdf(document(), picture_svg=PICTURE, ribbons_svg=printed_ribbons(document()))
    figures = [tag for tag in structure(drawn) if tag["/S"] == "/Figure"]
    told = sorted(str(tag["/Alt"]) for tag in figures)
    assert len(told) == 2
    assert told[0].startswith("A ribbon for the dog and one for each judged zone, from Wed 25 Nov 2026")
    assert told[1] == ("Bramble from the side, the coat as the plan foresees it on Sunday 14 March 2027.")
    text = text_of(drawn)
    assert "The coat on Sun 14 Mar 2027, Harrow Vale, as planned" in text
    assert text.count("Whole dog") == text_of(plan).count("Whole dog") + 1


def test_the_picture_of_a_plan_shows_the_next_show_or_else_the_last_day():
    assert picture_day(document()) == SHOW.day
    assert picture_day(document(shows=())) == document().until


def test_the_words_for_the_picture_tell_every_take(page):
    picture = next(tag for tag in structure(page) if tag["/S"] == "/Figure")
    assert str(picture["/Alt"]).count("20\u202f%") == 6


@pytest.mark.parametrize("kind", ["page", "plan"])
def test_its_faces_are_those_that_come_with_the_program_and_are_embedded(kind, request):
    names = set()
    for one in reader(request.getfixturevalue(kind)).pages:
        for font in one["/Resources"]["/Font"].values():
            below = font.get_object().get("/DescendantFonts", [font])[0].get_object()
            names.add(str(below["/BaseFont"]).split("+")[-1].split("-")[0])
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(below["/FontDescriptor"].keys())
    assert names <= {"LibertinusSerif", "DejaVuSansMono"}


def test_the_same_sheet_is_the_same_file_every_time(page):
    assert sheet_pdf(sheet(), picture_svg=PICTURE) == page
    assert reader(page).metadata.creation_date.date() == date(2026, 11, 25)


def test_a_long_plan_breaks_over_pages_and_repeats_the_head_of_its_grid():
    pdf = plan_pdf(document(120))
    pages = [" ".join(one.extract_text().split()) for one in reader(pdf).pages]
    assert len(pages) > 2
    in_grid = [text for text in pages if re.search(r"\d+ \w{3} 20\d\d 20 20", text)]
    assert len(in_grid) > 2
    assert all("Shoulders" in text and "visit" in text for text in in_grid)
    assert "1 of" in pages[0]


def test_a_plan_prints_takes_minutes_prices_shows_answers_and_rhythms(plan):
    text = text_of(plan)
    assert "shows in a rolling coat, every 14 days" in text
    assert "5 visits, 9 h 20 min in all" in text
    # 112 minutes at 42 an hour are 78.40.
    assert text.count("112 78.40") == 5
    assert "Price 784, at 42.00 an hour" in text
    assert "short Ribs would be overgrown: 8 % too many." in text
    assert "may help Allow a longer coat." in text
    assert "Ribs 13–25 mm 27 mm 18–36 mm 62 % not ready" in text
    assert "Every 14 days 13 18 h 40 min 47 45 % 784 chosen" in text
    assert "1 Feb to 20 Mar 2027" in text
    assert "14 Mar 2027 Harrow Vale: not ready: ribs" in text


def test_a_plan_without_visits_can_still_be_printed():
    text = text_of(plan_pdf(document(0, shows=(), answers=(), rhythms=())))
    assert "0 visits, 0 min in all" in text


@pytest.mark.parametrize("wrong", [{"paper": "a5"}, {"unit": "cm"}])
def test_unknown_paper_and_units_are_refused_with_those_that_are_known(wrong):
    with pytest.raises(OutOfRange, match=r"Use (a4 or letter|mm or in)\."):
        sheet_pdf(sheet(), **wrong)


def test_a_picture_that_is_none_is_refused():
    with pytest.raises(PrintError, match="could not be set"):
        sheet_pdf(sheet(), picture_svg="<p>not a picture")
