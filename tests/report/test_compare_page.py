from dataclasses import replace
from xml.etree import ElementTree

from mockcheck.report.compare_page import render_compare_page
from tests.report.synthetic import HOSTILE_NAME
from tests.report.test_compare import at_bar, comparison, kept


def test_the_page_groups_what_is_new_still_there_fixed_and_accepted() -> None:
    page = render_compare_page(
        comparison(
            fixed=(at_bar(1),),
            still=kept((2, 6)),
            new=(at_bar(9),),
            accepted=(replace(at_bar(11), accepted="meant: comic slide"),),
        )
    )
    heads = [page.index(f"<h2>{title}</h2>") for title in ("New", "Still there", "Fixed")]
    assert heads == sorted(heads)
    for words in ("bar 9, beat 1", "bar 6, beat 1 (was bar 2, beat 1)", "meant: comic slide"):
        assert words in page
    assert "<h1>Fixed: 1; still there: 1 (all moved by 4 bars); new: 1;" in page


def test_the_page_asks_for_nothing_and_runs_nothing() -> None:
    page = render_compare_page(comparison(new=(at_bar(9),)))
    assert "default-src 'none'" in page
    for word in ("<script", "http:", "https:", "src=", "@import", "url("):
        assert word not in page


def test_text_from_the_file_stays_text() -> None:
    hostile = replace(at_bar(9), part="<b>Violin</b>", message=f"{HOSTILE_NAME} <script>x</script>")
    page = render_compare_page(comparison(new=(hostile,)))
    assert "<script" not in page
    assert "&lt;b&gt;Violin&lt;/b&gt;" in page
    # Well-formed but for the doctype and the void meta tags.
    body = page[page.index("<body>") : page.index("</html>")]
    assert ElementTree.fromstring(body).tag == "body"  # our own page


def test_empty_groups_have_no_heading() -> None:
    page = render_compare_page(comparison(new=(at_bar(9),)))
    assert "<h2>New</h2>" in page
    assert "<h2>Fixed</h2>" not in page
