"""What is printed is what the bench believes: tags decode from the PDF, at their true size and place."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from printed_pages import found_tags_mm, page_sizes_mm, per_mm, rendered

from models.doors import BadValue
from watcher.setup.bench_sheet import bench_page, bench_sheet, scaled
from watcher.setup.drawing import Paper, Patch, Stroke, Words
from watcher.setup.lens_board import COLUMNS, ROWS, SQUARE_MM, LensBoard, board_page
from watcher.setup.mould_card import card_pages, mould_cards, strip_cards
from watcher.setup.pdf import pdf_bytes
from watcher.setup.tag_print import tag_cells

PX_PER_MM = 8.0
TRUE_MM = 0.1
APRILTAG = cv2.aruco.DICT_APRILTAG_36h11
PAPERS = pytest.mark.parametrize("paper", list(Paper))


@PAPERS
def test_the_page_is_as_large_as_the_paper(paper):
    data = pdf_bytes([bench_page(paper), board_page(paper)], "test")
    for width, height in page_sizes_mm(data):
        assert (width, height) == pytest.approx(paper.landscape_mm, abs=0.01)


@PAPERS
def test_the_bench_sheets_tags_decode_from_the_print_where_its_table_says(paper):
    grey = rendered(pdf_bytes([bench_page(paper)], "test"), 0, PX_PER_MM)
    found = found_tags_mm(grey, APRILTAG, paper.landscape_mm)
    assert sorted(found) == [0, 1, 2, 3]
    width, height = paper.landscape_mm
    for tag in bench_sheet():
        # bench frame: origin at the page's middle, y up; first corner is the printed tag's upper left
        h = 0.5 * tag.size_mm
        for corner, (sx, sy) in zip(found[tag.tag_id], [(-1, 1), (1, 1), (1, -1), (-1, -1)], strict=True):
            x_mm = tag.centre_mm[0] + sx * h + 0.5 * width
            y_mm = 0.5 * height - (tag.centre_mm[1] + sy * h)
            assert corner == pytest.approx([x_mm, y_mm], abs=TRUE_MM)


@PAPERS
def test_every_mould_card_decodes_at_its_size_with_its_notch_at_the_top(paper):
    cards = mould_cards(
        ["beaker", "cream jug", "planter", "bud vase", "lamp base", "cup", "bowl"], size_mm=26.0
    )
    grey = rendered(pdf_bytes(card_pages(cards, paper), "test"), 0, PX_PER_MM)
    found = found_tags_mm(grey, APRILTAG, paper.portrait_mm)
    assert sorted(found) == [card.tag_id for card in cards] == list(range(10, 17))
    for corners in found.values():
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        assert sides == pytest.approx([26.0] * 4, abs=TRUE_MM)
        assert corners[0, 1] < corners[3, 1] and corners[0, 0] < corners[1, 0]  # printed upright
        x, y = 0.5 * (corners[0] + corners[1]) * PX_PER_MM
        above = grey[int(y - 11.0 * PX_PER_MM) : int(y) - 4, int(x)]
        below = grey[int(y + 26.4 * PX_PER_MM) : int(y + 29.0 * PX_PER_MM), int(x)]
        assert (np.abs(above.astype(int) - 191) < 8).sum() > 3.0 * PX_PER_MM  # the grey notch
        assert (below > 250).all()  # white paper right under the square


def test_many_cards_go_on_to_the_next_page_and_all_decode():
    cards = mould_cards([f"mould {n}" for n in range(30)], size_mm=40.0)
    pages = card_pages(cards, Paper.A4)
    data = pdf_bytes(pages, "test")
    seen = [
        tag
        for page in range(len(pages))
        for tag in found_tags_mm(rendered(data, page, 4.0), APRILTAG, Paper.A4.portrait_mm)
    ]
    assert len(pages) > 1
    assert sorted(seen) == [card.tag_id for card in cards]


def test_the_strips_tags_share_no_number_with_sheet_or_moulds():
    numbers = [tag.tag_id for tag in bench_sheet()] + [card.tag_id for card in strip_cards()]
    numbers += [card.tag_id for card in mould_cards(["beaker", "cup"])]
    assert len(set(numbers)) == len(numbers)


@PAPERS
def test_the_printed_lens_board_is_the_board_that_opencv_expects(paper):
    grey = rendered(pdf_bytes([board_page(paper)], "test"), 0, PX_PER_MM)
    board = LensBoard()
    corners, ids, _, markers = cv2.aruco.CharucoDetector(board.opencv_board()).detectBoard(grey)
    assert len(np.ravel(markers)) == COLUMNS * ROWS // 2
    assert sorted(np.ravel(ids)) == list(range((COLUMNS - 1) * (ROWS - 1)))
    found = (np.asarray(corners).reshape(-1, 2) + 0.5) / per_mm(grey, paper.landscape_mm)
    away = found - board.corners_mm()[np.ravel(ids), :2]
    assert away - away[0] == pytest.approx(np.zeros_like(away), abs=TRUE_MM)


def test_the_lens_board_never_shows_a_tag_of_the_bench():
    grey = rendered(pdf_bytes([board_page(Paper.A4)], "test"), 0, 4.0)
    book = cv2.aruco.getPredefinedDictionary(APRILTAG)
    _, ids, _ = cv2.aruco.ArucoDetector(book).detectMarkers(grey)
    assert ids is None


@PAPERS
def test_nothing_is_printed_where_printers_cannot_reach(paper):
    # 4.2 mm at the sides is what common ink-jet printers leave blank (from memory, printers' data sheets)
    pages = [bench_page(paper), board_page(paper), *card_pages(strip_cards(), paper)]
    for page in pages:
        for x, y in (place for shape in page.shapes for place in _extent(shape)):
            assert 4.2 <= x <= page.width_mm - 4.2
            assert 4.2 <= y <= page.height_mm - 4.2


def _extent(shape):
    match shape:
        case Patch(boxes):
            for box in boxes:
                yield box.x_mm, box.y_mm
                yield box.x_mm + box.width_mm, box.y_mm + box.height_mm
        case Stroke(points):
            yield from points
        case Words():
            yield shape.x_mm, shape.y_mm


@PAPERS
def test_the_ruler_line_on_the_bench_sheet_is_as_long_as_it_says(paper):
    grey = rendered(pdf_bytes([bench_page(paper)], "test"), 0, PX_PER_MM)
    dark = grey < 128
    rows = len(dark)
    across = np.flatnonzero(dark[rows // 2 - 2 : rows // 2 + 3].any(axis=0))
    length = (across[-1] - across[0] + 1) / per_mm(grey, paper.landscape_mm)[0]
    assert length == pytest.approx(250.2, abs=0.2)  # the end marks' own width is 0.2 mm


def test_the_same_cards_give_the_same_file():
    page = [bench_page(Paper.A4)]
    assert pdf_bytes(page, "test") == pdf_bytes(page, "test")


def test_a_tag_matches_opencvs_own_drawing_of_it():
    book = cv2.aruco.getPredefinedDictionary(APRILTAG)
    drawn = cv2.aruco.generateImageMarker(book, 57, 80)
    assert (np.kron(tag_cells(57), np.ones((10, 10))) == (drawn == 0)).all()


def test_a_sheet_printed_smaller_has_smaller_tags_nearer_together():
    small = scaled(bench_sheet(), 0.97)
    assert small[0].size_mm == pytest.approx(58.2)
    assert small[3].centre_mm == pytest.approx((0.97 * 98.0, -0.97 * 58.0, 0.0))


@pytest.mark.parametrize(
    ("names", "first_id", "size_mm", "said"),
    [
        (["cup", "cup"], 10, 30.0, "two moulds have the name 'cup'; give each its own"),
        ([" "], 10, 30.0, "a mould's name is blank"),
        (["cup"], 2, 30.0, "number 2 belongs to the bench sheet"),
        (["cup", "jug"], 586, 30.0, "the card's number is 587; give a whole number from 0 to 586"),
        (["cup"], -1, 30.0, "the card's number is -1"),
        (["cup"], 10, 5.0, "the card's tag is 5; give its side in mm, 14 to 80"),
    ],
)
def test_cards_that_cannot_be_are_refused_in_a_sentence(names, first_id, size_mm, said):
    with pytest.raises(BadValue) as refused:
        mould_cards(names, first_id, size_mm)
    assert said in str(refused.value)


def test_a_name_in_letters_that_cannot_be_printed_is_refused():
    with pytest.raises(BadValue) as refused:
        pdf_bytes(card_pages(mould_cards(["茶碗"]), Paper.A4), "test")
    assert "give a name in Latin letters" in str(refused.value)


def test_the_fields_of_the_board_are_whole_on_both_papers():
    assert COLUMNS * SQUARE_MM < min(paper.landscape_mm[0] for paper in Paper) - 10.0
