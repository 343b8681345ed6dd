"""Components say what they show in words, to every reader."""

from html.parser import HTMLParser
from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from django.template import RequestContext
from django.template.loader import render_to_string
from django.test import RequestFactory

from fraginv.base.models import Code
from fraginv.base.queries.portions import Portion
from tests.base.specimen import ENGINE

STAGES = {
    "healing": "healing",
    "growing": "growing",
    "ready": "ready",
    "sold": "sold",
    "lost": "lost",
    "given": "given",
    "colony": "kept as colony",
    "held": "held",
    "apart": "set apart",
    "quarantined": "quarantined",
    "kept": "kept back",
    "barred": "barred",
}


class Cutting(forms.Form):
    """One question of each kind."""

    pieces = forms.IntegerField(label="Living pieces", min_value=1, help_text="Not the lost ones.")
    price = forms.DecimalField(required=False)
    share = forms.FloatField(required=False)
    day = forms.DateField()
    until = forms.DateTimeField(required=False)
    medium = forms.ChoiceField(
        label="Glued to", choices=[("plug", "Plug"), ("disc", "Disc")], widget=forms.RadioSelect
    )
    variety = forms.ChoiceField(choices=[("1", "Moonwell")])
    lot = forms.BooleanField(label="One lot", required=False)
    photo = forms.FileField(required=False)
    note = forms.CharField(widget=forms.TextInput(attrs={"class": "own"}), required=False)
    first = forms.CharField(widget=forms.HiddenInput, required=False)


class Tags(HTMLParser):
    """Collect every tag with its attributes, and the text between."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def one(self, tag: str, **wanted: str) -> dict[str, str | None]:
        """Return the attributes of the one tag that has those wanted."""
        [match] = [a for t, a in self.found if t == tag and wanted.items() <= a.items()]
        return match


def component(name: str, **context: Any) -> str:
    """Render one component."""
    return render_to_string(f"base/components/_{name}.html", context)


def words(source: str) -> str:
    """Return what is read aloud, with single spaces."""
    return " ".join(" ".join(Tags(source).text).split())


@pytest.mark.parametrize(("key", "word"), STAGES.items())
def test_a_stage_is_a_word_and_a_shape(key: str, word: str) -> None:
    drawn = component("tag", key=key)
    assert words(drawn) == word
    assert f"tag--{key}" in drawn
    assert "<svg" in drawn


def test_a_frag_kept_as_a_colony_is_not_kept_back() -> None:
    assert words(component("stage", stage="kept")) == "kept as colony"
    assert words(component("stage", stage="ready", flags=["kept"])) == "ready kept back"


def test_no_two_stages_share_a_shape() -> None:
    shapes = {component("tag", key=key).split("<svg")[1].split("</svg>")[0] for key in STAGES}
    assert len(shapes) == len(STAGES)


def test_flags_stand_beside_the_stage() -> None:
    assert (
        words(component("stage", stage="ready", flags=["held", "apart"])) == "ready held set apart"
    )


def test_a_field_ties_label_help_and_errors_to_its_control() -> None:
    form = Cutting({"pieces": "0"})
    drawn = component("field", field=form["pieces"])
    control = Tags(drawn).one("input")
    assert Tags(drawn).one("label")["for"] == control["id"] == "id_pieces"
    assert control["aria-invalid"] == "true"
    named = str(control["aria-describedby"]).split()
    assert named == ["id_pieces_helptext", "id_pieces_error"]
    for name in named:
        assert f'id="{name}"' in drawn
    assert "Not the lost ones." in drawn


def test_whole_numbers_get_steppers_that_wait_for_a_script() -> None:
    tags = Tags(component("field", field=Cutting()["pieces"]))
    assert tags.one("input")["inputmode"] == "numeric"
    for by in ("-1", "1"):
        assert "hidden" in tags.one("button", **{"data-step": by})


def test_passwords_stay_covered_until_a_script_offers_to_show_them() -> None:
    class Door(forms.Form):
        password = forms.CharField(widget=forms.PasswordInput)

    tags = Tags(component("field", field=Door({"password": "plug-water-lamp-9"})["password"]))
    assert tags.one("input")["type"] == "password"
    assert "value" not in tags.one("input")
    assert "hidden" in tags.one("button", type="button")


@pytest.mark.parametrize(
    ("name", "tag", "attributes"),
    [
        ("price", "input", {"inputmode": "decimal", "class": "control control--number"}),
        ("share", "input", {"inputmode": "decimal"}),
        ("day", "input", {"type": "date", "class": "control control--date"}),
        ("until", "input", {"type": "datetime-local"}),
        ("variety", "select", {"class": "control"}),
        ("lot", "input", {"type": "checkbox", "class": "choice__input"}),
        ("photo", "input", {"type": "file", "class": "control control--file"}),
        ("note", "input", {"type": "text", "class": "control own"}),
        ("first", "input", {"type": "hidden"}),
    ],
)
def test_each_kind_gets_its_control(name: str, tag: str, attributes: dict[str, str]) -> None:
    drawn = Tags(component("field", field=Cutting()[name]))
    assert attributes.items() <= drawn.one(tag).items()
    assert ("label" in [found for found, _ in drawn.found]) is (name != "first")


def test_days_and_moments_are_written_as_browsers_read_them() -> None:
    form = Cutting({"day": "2026-11-03", "until": "2026-11-03T14:05"})
    assert Tags(component("field", field=form["day"])).one("input")["value"] == "2026-11-03"
    form.is_valid()
    again = Cutting(initial={"until": form.cleaned_data["until"]})
    value = Tags(component("field", field=again["until"])).one("input")["value"]
    assert value == "2026-11-03T14:05"


def test_choices_are_a_group_with_a_name() -> None:
    form = Cutting({"medium": "foam"})
    drawn = Tags(component("field", field=form["medium"]))
    assert drawn.one("fieldset")["aria-describedby"] == "id_medium_error"
    assert drawn.one("legend")
    for value, place in (("plug", "id_medium_0"), ("disc", "id_medium_1")):
        assert drawn.one("input", value=value)["class"] == "choice__input"
        assert drawn.one("label", **{"for": place})


def test_optional_questions_say_so() -> None:
    assert "(optional)" in component("field", field=Cutting()["price"])
    assert "(optional)" not in component("field", field=Cutting()["day"])


def test_form_errors_lead_to_their_fields() -> None:
    form = Cutting({"pieces": "0", "day": "2026-11-03", "medium": "plug", "variety": "1"})
    form.add_error(None, "The colony rests until 12 December.")
    form.add_error("first", "Scan the first label again.")
    drawn = component("form_errors", form=form)
    assert Tags(drawn).one("div", role="alert")
    assert Tags(drawn).one("a")["href"] == "#id_pieces"
    assert "The colony rests until 12 December." in drawn
    assert "Scan the first label again." in drawn


def test_a_form_in_order_says_nothing() -> None:
    assert not words(component("form_errors", form=Cutting()))


def test_what_is_typed_never_becomes_markup() -> None:
    form = Cutting({"note": '"><script>alert(1)</script>'})
    assert "<script>" not in component("field", field=form["note"])
    assert "<b>" not in component("facts", facts=[("Name", "<b>")])


def test_a_caution_says_where_it_comes_from() -> None:
    caution = SimpleNamespace(text="Wear gloves.", source="Case reports, 2016")
    drawn = component("caution", caution=caution)
    assert words(drawn) == "Take care Wear gloves. Case reports, 2016"
    assert 'role="note"' in drawn


def test_facts_without_a_value_are_left_out() -> None:
    facts = [("Genus", "Zoanthus"), ("Species", ""), ("Rack", None), ("Lost", 0)]
    assert words(component("facts", facts=facts)) == "Genus Zoanthus Lost 0"


def test_a_code_leads_where_it_is_told() -> None:
    assert (
        Tags(component("code", code="7K3Q9F2", url="/T/7K3Q9F2")).one("a")["href"] == "/T/7K3Q9F2"
    )
    plain = component("code", code="7K3Q9F2", large=True)
    assert "<a" not in plain
    assert "code--large" in plain
    assert "".join(Tags(plain).text).strip() == "7K3-Q9F-2"
    assert '<span class="code__end">9F-2</span>' in plain
    assert "code__end" not in component("code", code="7K3Q9F2")


def test_an_empty_list_says_what_to_do() -> None:
    drawn = component("empty", title="No bills yet", text="Enter one.", url="/new", action="Enter")
    assert words(drawn) == "No bills yet Enter one. Enter"
    assert "<a" not in component("empty", title="No bills yet")


def test_a_figure_has_label_value_and_note() -> None:
    drawn = component("figure", label="Income", value="$45.00", note="without tax", lead=True)
    assert words(drawn) == "Income $45.00 without tax"
    assert "figure--lead" in drawn


def test_a_photo_has_words_or_says_that_there_is_none() -> None:
    assert Tags(component("photo", src="/p.jpg", alt="Moonwell")).one("img")["alt"] == "Moonwell"
    assert words(component("photo", src="", caption="Soon")) == "No picture yet Soon"


@pytest.mark.parametrize(
    ("page", "links"),
    [
        (Portion[Code]([], 7, is_first=True), {"next": "?size=M&after=7"}),
        (Portion[Code]([], 9, is_first=False), {"first": "?size=M", "next": "?size=M&after=9"}),
        (Portion[Code]([], None, is_first=False), {"first": "?size=M"}),
    ],
)
def test_the_pager_keeps_what_was_asked(page: Portion[Code], links: dict[str, str]) -> None:
    request = RequestFactory().get("/frags", {"size": "M"})
    context = RequestContext(request, {"page": page})
    drawn = ENGINE.get_template("base/components/_pager.html").render(context)
    found = Tags(drawn).found
    assert {a["rel"]: a["href"] for tag, a in found if tag == "a"} == links


def test_one_page_needs_no_pager() -> None:
    page = Portion[Code]([], None, is_first=True)
    assert not words(component("pager", page=page))
