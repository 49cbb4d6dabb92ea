"""The one table template: caption, sorting by links, figures on the right, pages, and words when empty."""

from __future__ import annotations

import re

import django_tables2 as tables
from django.template import Context, Template
from django.test import RequestFactory

RIGHT = {"th": {"class": "num"}, "td": {"class": "num"}, "tf": {"class": "num"}}
ROWS = [{"lot": f"K-{number}", "litres": number} for number in range(1, 31)]


class LotTable(tables.Table):
    """A list of lots."""

    lot = tables.Column()
    litres = tables.Column(attrs=RIGHT, footer="465")
    move = tables.Column(empty_values=(), orderable=False)

    class Meta:
        caption = "Lots on hand"
        empty_text = "No lots yet. Receive a delivery first."


def shown(address: str = "/lots/", rows: list[dict[str, object]] | None = None, table: type[tables.Table] = LotTable) -> str:
    request = RequestFactory().get(address)
    made = table(ROWS if rows is None else rows)
    tables.RequestConfig(request, paginate={"per_page": 10}).configure(made)
    return Template("{% load django_tables2 %}{% render_table table %}").render(Context({"request": request, "table": made}))


def heads(html: str) -> list[str]:
    return re.findall(r"<th scope=\"col\".*?</th>", html, re.DOTALL)


def test_the_caption_comes_from_meta_or_from_the_table() -> None:
    class Named(LotTable):
        caption = "What expires"

    assert "<caption>Lots on hand</caption>" in shown()
    assert "<caption>What expires</caption>" in shown(table=Named)


def test_a_head_links_to_the_order_with_and_without_script() -> None:
    link = re.search(r'<a href="([^"]+)" hx-get="([^"]+)">', heads(shown())[0])
    assert link
    assert link.group(1) == link.group(2) == "?sort=lot"


def test_aria_sort_follows_the_order() -> None:
    lot, litres, move = heads(shown("/lots/?sort=-litres"))
    assert 'aria-sort="none"' in lot
    assert 'aria-sort="descending"' in litres
    assert "aria-sort" not in move
    assert 'aria-sort="ascending"' in heads(shown("/lots/?sort=lot"))[0]


def test_a_column_without_words_is_named_for_those_who_hear_the_page() -> None:
    class Silent(LotTable):
        move = tables.Column(verbose_name="", empty_values=(), orderable=False)

    assert '<span class="visually-hidden">Actions</span>' in heads(shown(table=Silent))[2]


def test_sorting_keeps_the_filter_and_goes_back_to_the_first_page() -> None:
    link = re.search(r'href="([^"]+)"', heads(shown("/lots/?state=fresh&page=2"))[0])
    assert link
    assert link.group(1) == "?state=fresh&amp;sort=lot"


def test_figures_stand_right_in_head_body_and_foot() -> None:
    html = shown()
    assert 'class="num' in heads(html)[1]
    assert re.search(r'<td class="num[^"]*">1</td>', html)
    assert re.search(r'<tfoot>.*<td class="num[^"]*">465</td>', html, re.DOTALL)


def test_pages_are_links_that_keep_order_and_filter() -> None:
    html = shown("/lots/?state=fresh&sort=lot&page=2")
    assert "11 to 20 of 30" in html
    assert re.search(r'href="\?state=fresh&amp;sort=lot&amp;page=3"[^>]*rel="next"', html)
    assert re.search(r'aria-current="page"[^>]*>2</a>', html)


def test_a_short_list_has_no_pages() -> None:
    assert "<nav" not in shown(rows=[{"lot": "K-1", "litres": 1}])


def test_an_empty_list_says_what_to_do_first() -> None:
    html = shown(rows=[])
    assert "No lots yet. Receive a delivery first." in html
    assert "<tfoot>" not in html


def test_what_a_person_typed_is_escaped() -> None:
    assert "&lt;b&gt;" in shown(rows=[{"lot": "<b>", "litres": 1}])
