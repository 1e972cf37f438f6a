"""Rubric files and cause maps: what ships is sound, and every fault of a broken file is told with its line."""

import json
import re
import time
import tomllib
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.bands import LimitOf
from evalkit.domain.criterion import Kind, Use
from evalkit.domain.pair import Blade, EdgeType, Station
from evalkit.domain.reading import Medium
from evalkit.errors import Fault, FileFaultsError, InputError, NotFoundError
from evalkit.files.places import rubrics_dir
from evalkit.files.plain_words import EXAMPLES, MAX_FAULTS
from evalkit.files.rubric_schemas import causes_schema, rubric_schema, write_schemas
from evalkit.files.rubrics import find_rubric, list_rubrics, load_causes, load_rubric

SHIPPED = ("first-rounds", "shears", "toothed")

BASE = """\
format = 1
key = "bench"
name = "Bench"
levels = ["fails", "in part", "fit", "as new"]
fit = 2
mark = 75
edge_types = ["convex", "bevel"]

[[criteria]]
key = "hair"
name = "Hair"
kind = "cut"
levels = ["pulls", "pushes", "within the band", "no push"]
stations = ["heel", "middle", "tip"]
weight = 10
must_pass = 2
media = ["hair"]
cuts = { clean = 3, catch = 1, fold = 1, push = 1, tear = 0, "not cut" = 0 }
push_mm = { 3 = 0.5, 2 = 2 }

[[criteria]]
key = "ride-line"
name = "Ride line"
kind = "measured"
levels = ["missing", "broken", "unbroken", "even"]
blades = ["thumb", "finger"]
stations = ["heel", "middle", "tip"]
weight = 6
unit = "mm"
bands = [{ level = 3, from = 0.2, to = 0.6 }, { level = 2, from = 0.1, to = 1.0 }]
limits = [{ of = "widest over narrowest", at_most = { 3 = 1.5, 2 = 2.0 } }]

[criteria.types.bevel]
use = "advisory"
"""
"""Line 9 opens the first criterion, line 21 the second, line 33 its bevel."""

CAUSES = """\
format = 1

[[causes]]
key = "pushes"
observed = "Pushes hair"
causes = ["angle too blunt"]
say = "Check the angle."
when = [{ criteria = ["hair"], cuts = ["push"] }]
unless = [{ criteria = ["hair"], at_least = 2 }]
source = "from memory"

[[causes]]
key = "catches"
observed = "Catches"
causes = ["nick"]
say = "Find the nick."
when = [{ criteria = ["hair"], cuts = ["catch"] }]
edge_types = ["convex"]
source = "from memory"
"""


def faults_of(path: Path, text: str | bytes, load=load_rubric):
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(FileFaultsError) as caught:
        load(path)
    return caught.value.faults


# --- what ships ----------------------------------------------------------------------------------------------------


def test_three_rubrics_ship():
    assert [rubric.key for rubric in list_rubrics(rubrics_dir())] == list(SHIPPED)


@pytest.mark.parametrize("key", SHIPPED)
def test_weights_add_to_100(key):
    rubric = find_rubric(key)
    assert sum(criterion.weight for criterion in rubric.criteria) == 100
    assert rubric.top == 3
    assert rubric.fit == 2


@pytest.mark.parametrize("key", SHIPPED)
def test_every_criterion_says_where_it_is_from(key):
    for criterion in find_rubric(key).criteria:
        assert re.search(r"common practice|from memory", criterion.source, re.IGNORECASE), criterion.key


def test_the_full_rubric_has_the_fourteen_rows_and_a_slide_cut_that_only_advises():
    weights = {criterion.key: criterion.weight for criterion in find_rubric("shears").criteria}
    assert weights == {
        "dry-tissue": 8, "wet-tissue": 8, "hair": 14, "slide-cut": 0, "tips": 10, "ride-line": 10, "face": 9,
        "edge-angle": 6, "burr": 8, "edge-line": 7, "set": 5, "tension": 6, "play": 3, "action": 3, "finish": 3,
    }  # fmt: skip
    must = {criterion.key for criterion in find_rubric("shears").criteria if criterion.must_pass}
    assert must == {"dry-tissue", "wet-tissue", "hair", "tips", "ride-line", "burr", "tension", "play", "finish"}


def test_the_first_rounds_are_short():
    keys = {criterion.key for criterion in find_rubric("first-rounds").criteria}
    assert keys == {"ride-line", "face", "tips", "tension", "finish", "dry-tissue", "wet-tissue", "hair"}


def test_one_key_is_one_thing_in_all_rubrics():
    kinds: dict[str, set[tuple[Kind, object]]] = {}
    for rubric in list_rubrics(rubrics_dir()):
        for criterion in rubric.criteria:
            kinds.setdefault(criterion.key, set()).add((criterion.kind, criterion.unit))
    assert {key for key, seen in kinds.items() if len(seen) > 1} == set()


def test_all_shipped_rubrics_drop_test_one_way():
    methods = {(rubric.drop_test.ring, rubric.drop_test.start_deg) for rubric in list_rubrics(rubrics_dir())}
    assert methods == {(Blade.FINGER, 90)}


APPLIES = {
    # Of each check, in the order convex, semi-convex, bevel, micro-serrated, sword, toothed:
    # c counts, a advisory, - does not apply. Common practice, no source; the division is a proposal from memory.
    "dry-tissue": "cccccc",
    "wet-tissue": "cca-ca",
    "hair": "cccccc",
    "slide-cut": "aa--a-",
    "tips": "cccccc",
    "ride-line": "cccccc",
    "face": "cccccc",
    "edge-angle": "cccccc",
    "burr": "cccccc",
    "edge-line": "cccccc",
    "set": "cccccc",
    "tension": "cccccc",
    "play": "cccccc",
    "action": "cccccc",
    "finish": "cccccc",
}


@pytest.mark.parametrize("at", range(6))
def test_what_applies_to_each_edge_type(at):
    edge_type = list(EdgeType)[at]
    letters = {Use.COUNTS: "c", Use.ADVISORY: "a", Use.NOT_APPLICABLE: "-"}
    uses = {on.key: letters[on.use] for on in find_rubric("shears").on(edge_type)}
    assert uses == {key: row[at] for key, row in APPLIES.items()}


def test_wet_tissue_is_a_must_only_where_it_counts():
    must = {kind: find_rubric("shears").by_key["wet-tissue"].on(kind).must_pass for kind in EdgeType}
    assert must == {
        EdgeType.CONVEX: 2, EdgeType.SEMI_CONVEX: 2, EdgeType.SWORD: 2,
        EdgeType.BEVEL: None, EdgeType.MICRO_SERRATED: None, EdgeType.TOOTHED: None,
    }  # fmt: skip


def test_the_plain_blade_of_a_toothed_pair_is_read_without_naming_a_ring():
    on = {one.key: one for one in find_rubric("shears").on(EdgeType.TOOTHED)}
    for key in ("ride-line", "face", "edge-angle"):
        assert [(place.blade, place.station) for place in on[key].places] == [(None, station) for station in Station]


def test_a_convex_pair_is_read_at_each_station_of_each_blade():
    on = {one.key: one for one in find_rubric("shears").on(EdgeType.CONVEX)}
    assert {key: len(one.places) for key, one in on.items()} == {
        "dry-tissue": 3, "wet-tissue": 3, "hair": 3, "slide-cut": 1, "tips": 1, "ride-line": 6, "face": 6,
        "edge-angle": 6, "burr": 2, "edge-line": 3, "set": 1, "tension": 1, "play": 1, "action": 1, "finish": 1,
    }  # fmt: skip


def test_each_cut_names_its_medium_first():
    for rubric in list_rubrics(rubrics_dir()):
        media = {one.key: one.media[0] for one in rubric.criteria if one.kind is Kind.CUT}
        assert media == {"dry-tissue": Medium.DRY_TISSUE, "wet-tissue": Medium.WET_TISSUE, "hair": Medium.HAIR}


def test_limits_of_the_shipped_rubrics():
    limits = {one.key: {limit.of for limit in one.limits} for one in find_rubric("shears").criteria if one.limits}
    assert limits == {
        "dry-tissue": {LimitOf.FAILING},
        "wet-tissue": {LimitOf.FAILING},
        "ride-line": {LimitOf.RATIO},
        "edge-angle": {LimitOf.SPREAD, LimitOf.BLADES},
    }


def test_no_shipped_rubric_calls_an_ordinary_state_a_fault():
    """Every pair that comes to be sharpened is dull; cleaning, oiling and setting the screw is the ordinary work."""
    for rubric in list_rubrics(rubrics_dir()):
        assert rubric.harder_with
        assert not {"dull", "dry-pivot", "loose-screw"} & rubric.harder_with.keys()


def test_what_a_known_fault_makes_harder_is_one_thing_in_all_rubrics():
    """A rubric names those of the full list that count in it."""
    full = find_rubric("shears")
    for rubric in list_rubrics(rubrics_dir()):
        for tag, keys in rubric.harder_with.items():
            if tag in full.harder_with:
                counting = {key for key, criterion in rubric.by_key.items() if criterion.weight}
                assert set(keys) == set(full.harder_with[tag]) & counting, (rubric.key, tag)


def test_the_cause_map_speaks_only_of_criteria_that_some_rubric_has():
    known = {criterion.key for rubric in list_rubrics(rubrics_dir()) for criterion in rubric.criteria}
    causes = load_causes(rubrics_dir() / "causes.toml", criteria=known)
    assert len(causes.causes) >= 25
    assert {cause.source for cause in causes.causes} <= {
        "common practice, no source", "common practice in part", "from memory"
    }  # fmt: skip


# --- schemas -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "schema"), [("rubric", rubric_schema), ("causes", causes_schema)])
def test_published_schemas_are_fresh(name, schema):
    published = rubrics_dir() / "schema" / f"{name}.schema.json"
    assert json.loads(published.read_text()) == schema(), "write them anew: evalkit rubric schema rubrics/schema"


def test_writing_schemas_gives_the_published_bytes(tmp_path):
    for path in write_schemas(tmp_path / "new"):
        assert path.read_bytes() == (rubrics_dir() / "schema" / path.name).read_bytes()
    assert len(list((tmp_path / "new").iterdir())) == 2


@pytest.mark.parametrize("path", sorted(rubrics_dir().glob("*.toml")), ids=lambda path: path.stem)
def test_shipped_files_meet_their_schema(path):
    schema = causes_schema() if path.name == "causes.toml" else rubric_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    assert [error.message for error in validator.iter_errors(tomllib.loads(path.read_text()))] == []


@pytest.mark.parametrize("mend", ["wieght = 8", "weight = 'eight'", "kind = 'tasted'"])
def test_the_schema_refuses_what_the_reader_refuses(mend):
    data = tomllib.loads(BASE.replace("weight = 10", mend).replace('kind = "cut"', "") if "kind" in mend else
                         BASE.replace("weight = 10", mend))  # fmt: skip
    assert not jsonschema.Draft202012Validator(rubric_schema()).is_valid(data)


def test_the_bases_of_these_tests_are_sound(tmp_path):
    (tmp_path / "a.toml").write_text(BASE)
    (tmp_path / "causes.toml").write_text(CAUSES)
    assert load_rubric(tmp_path / "a.toml").key == "bench"
    assert len(load_causes(tmp_path / "causes.toml").causes) == 2


# --- broken rubrics ------------------------------------------------------------------------------------------------


def HARDER(line: str) -> tuple[str, str]:  # noqa: N802 - reads as a mark in the table below
    return 'use = "advisory"', f'use = "advisory"\n\n[harder_with]\n{line}'


# (what is changed, into what, line of the fault, words of the fault, words of the remedy)
BROKEN = [
    # unknown keys
    ("mark = 75", "marc = 75", 6, "'marc' is not known here", "Did you mean 'mark'?"),
    ("weight = 10", "wieght = 10", 15, "'wieght' is not known here", "Did you mean 'weight'?"),
    ("weight = 10", 'colour = "red"\nweight = 10', 15, "'colour' is not known here", "Known here: key, name, kind"),
    ("from = 0.2,", "form = 0.2,", 30, "'form' is not known here", "Did you mean 'from'?"),
    ("from = 0.2,", "low = 0.2,", 30, "'low' is not known here", "Known here: level, from, to, within"),
    ("format = 1", "format_number = 1", 1, "'format_number' is not known here", "Did you mean 'format'?"),
    ('use = "advisory"', 'usage = "advisory"', 34, "'usage' is not known here", "Did you mean 'use'?"),
    ("mark = 75", "[drop_test]\nring = 'thumb'\nangle = 90\n", 8, "'angle' is not known here", "ring, start_deg"),
    # missing
    ('key = "bench"\n', "", 0, "'key' is missing", 'Add: key = "dry-tissue".'),
    ('name = "Hair"\n', "", 9, "'name' is missing", 'Add: name = "Dry tissue".'),
    ('levels = ["missing", "broken", "unbroken", "even"]\n', "", 21, "'levels' is missing", "Add: levels = ["),
    ('of = "widest over narrowest", ', "", 31, "'of' is missing", 'of = "places below fit"'),
    ("{ level = 3, from", "{ from", 30, "'level' is missing", "Add: level = 2."),
    # wrong kinds of value
    ("weight = 10", 'weight = "10"', 15, "takes a whole number, without quotes; here stands the text '10'", "8"),
    ("weight = 10", "weight = 10.0", 15, "here stands the number 10.0", "For example: weight = 8."),
    ("weight = 10", "weight = true", 15, "here stands true", "weight = 8"),
    ('name = "Hair"', "name = 7", 11, "'name' takes text, in quotes; here stands the number 7", 'name = "Dry tissue"'),
    ('name = "Hair"', "name = 2026-11-25", 11, "here stands a date or time", "name ="),
    ('media = ["hair"]', 'media = "hair"', 17, "'media' takes a list, in [ ]", 'For example: media = ["hair"].'),
    ("mark = 75", "mark = 75\ndrop_test = 90", 7, "'drop_test' takes a table", 'ring = "finger"'),
    ("{ level = 3, from = 0.2, to = 0.6 }, ", "3, ", 30, "'bands' takes a table", "bands = ["),
    ("from = 0.2", 'from = "0.2"', 30, "'from' takes a number, without quotes", "from = 20"),
    ("push_mm = { 3 = 0.5, 2 = 2 }", "push_mm = { top = 0.5 }", 19, "'top' in 'push_mm' is no level", "push_mm = {"),
    ("push_mm = { 3 = 0.5, 2 = 2 }", "push_mm = 2", 19, "'push_mm' takes a table", "push_mm = {"),
    ("from = 0.2", "from = nan", 30, "'from' is nan", "Leave it out"),
    ("to = 1.0", "to = inf", 30, "'to' is inf", "Leave it out"),
    # words off a closed list
    ('kind = "cut"', 'kind = "cuts"', 12, "'cuts' cannot stand in 'kind'", "Did you mean 'cut'?"),
    ('"convex", "bevel"]', '"konvex", "bevel"]', 7, "'konvex' cannot stand in 'edge_types'", "Did you mean 'convex'?"),
    ('unit = "mm"', 'unit = "furlong"', 29, "'furlong' cannot stand in 'unit'", "It takes: mm, in, deg included"),
    ("catch = 1,", "catsh = 1,", 18, "'catsh' cannot stand in 'cuts'", "Did you mean 'catch'?"),
    ("[criteria.types.bevel]", "[criteria.types.bevle]", 33, "'bevle' cannot stand in 'types'", "mean 'bevel'?"),
    ('use = "advisory"', 'use = "maybe"', 34, "'maybe' cannot stand in 'use'", "counts, advisory, not applicable"),
    ('["thumb", "finger"]', '["thumb", "left"]', 26, "'left' cannot stand in 'blades'", "It takes: thumb, finger."),
    ("widest over narrowest", "widest", 31, "'widest' cannot stand in 'of'", "It takes: spread along a blade"),
    # sizes and forms
    ("format = 1", "format = 2", 1, "'format' is '2'", "It must be at most 1."),
    ("weight = 10", "weight = -1", 15, "'weight' is '-1'", "It must be at least 0."),
    ("mark = 75", "mark = 101", 6, "'mark' is '101'", "It must be at most 100."),
    ("level = 3, from = 0.2, to = 0.6", "level = 3, within = 0.0", 30, "'within' is '0.0'", "It must be more than 0."),
    ('key = "hair"', 'key = "Hair Swatch"', 10, "'Hair Swatch' in 'key' cannot be a key", "for example 'hair-swatch'"),
    ('name = "Hair"', 'name = "Hair\\nswatch"', 11, "'name' runs over more than one line", "one line"),
    ('name = "Hair"', 'name = "Hair"\nask = "a\\u0000b"', 12, "(a control character)", "Take it out."),
    ('"in part", ', '"", ', 4, "'levels' is empty or too short", "levels = ["),
    ('"pulls", ', f'"{"x" * 300}", ', 13, "'levels' is too long", "at most 240 signs"),
    # a table that contradicts itself
    ("from = 0.2, to = 0.6", "from = 0.6, to = 0.2", 30, "band from 0.6 to 0.2 is upside down", "{ level = 2, from"),
    ("level = 3, from = 0.2, to = 0.6", "level = 3", 30, "a band needs 'from', 'to' or 'within'", "For example"),
    ("to = 0.6 }", "to = 0.6, within = 1 }", 30, "not both", "For example: { level = 2"),
    ("at_most = { 3 = 1.5, 2 = 2.0 }", "at_most = { 3 = 2.0, 2 = 1.5 }", 31, "may not allow more", "at_most = {"),
    ("at_most = { 3 = 1.5, 2 = 2.0 }", "at_most = {}", 31, "'at_most' is empty or too short", "at_most = { 3"),
    # a criterion that contradicts itself
    ('unit = "mm"\n', "", 24, "a measured criterion needs a unit and bands", 'unit = "mm"'),
    ('media = ["hair"]\n', "", 12, "a cut criterion needs media and cuts", 'media = ["hair"]'),
    ('kind = "measured"\n', "", 28, "unit belongs to a measured criterion, this one is judged", 'kind = "measured"'),
    ('kind = "cut"\n', "", 18, "push_mm belongs to a cut criterion", 'kind = "cut"'),
    ("tear = 0, ", "", 18, "cuts does not say what these earn: tear", "Give each its level."),
    ('["heel", "middle", "tip"]\nweight = 10', '["heel", "heel"]\nweight = 10', 14, "names a place twice", "once"),
    ("weight = 10", "weight = 0", 16, "a must-pass criterion needs a weight", "Give it a weight"),
    ("push_mm = { 3 = 0.5, 2 = 2 }", "push_mm = { 3 = 2, 2 = 0.5 }", 19, "more push than a lower one", "fewer mm"),
    ("push_mm = { 3 = 0.5, 2 = 2 }", "push_mm = { 0 = 5 }", 19, "for levels 1 and up", "Leave level 0 out"),
    ("weight = 10", 'weight = 10\nlimits = [{ of = "widest over narrowest", at_most = { 2 = 2 } }]', 16,
     "worked out from measured values", "places below fit"),
    ('use = "advisory"', "bands = []", 34, "a measured criterion needs bands", "leave this line out"),
    ('use = "advisory"', "push_mm = { 2 = 5 }", 34, "push_mm belongs to a cut criterion", "Take it out."),
    # a rubric that contradicts itself
    ("fit = 2", "fit = 4", 5, "fit is level 4, but the ladder ends at 3", "Give 1 to 3."),
    ('["convex", "bevel"]', '["convex", "convex"]', 7, "names one twice", "once"),
    ('key = "ride-line"', 'key = "hair"', 22, "criterion 'hair' stands twice", "another key"),
    ('["pulls", "pushes", ', '["pulls", ', 13, "'hair' words 3 levels, the ladder has 4", "Word 4 levels"),
    ("must_pass = 2", "must_pass = 5", 16, "'hair' names a level off the ladder", "The levels are 0 to 3."),
    ("clean = 3", "clean = 4", 18, "'hair' names a level off the ladder", "0 to 3"),
    ("{ level = 3, from = 0.2, to = 0.6 }, ", "", 30, "no band for the top level 3", "Add a band for level 3."),
    ("{ level = 2, from", "{ level = 3, from", 30, "two bands for one level", "one band"),
    ("to = 0.6", "to = 1.6", 30, "the band of level 3 reaches outside that of level 2", "the wider one"),
    ("from = 0.2, to = 0.6", "within = 0.2", 30, "no target", "Give a target"),
    ('use = "advisory"', 'levels = ["a", "b"]', 34, "'ride-line' words 2 levels for bevel", "Word 4 levels"),
    ("must_pass = 2", "must_pass = 2\ntypes = { convex = { use = 'not applicable' }, bevel = { use = 'advisory' } }", 9,
     "nothing counts for a bevel pair", "Give a criterion a weight"),
    # what a known fault makes harder
    (*HARDER('nick = ["hair", "hare"]'), 37, "'nick' names 'hare', which is no criterion here", "hair, ride-line."),
    (*HARDER('nick = ["hair", "hair"]'), 37, "'nick' names a criterion twice", "Name each once."),
    (*HARDER("nick = []"), 37, "'nick' makes no criterion harder", "take the line out"),
    (*HARDER('nick = "hair"'), 37, "'harder_with' takes a list, in [ ]; here stands the text 'hair'", 'nick = ["burr"'),
    (*HARDER("nick = [7]"), 37, "'harder_with' takes text, in quotes; here stands the number 7", "[harder_with]"),
    (*HARDER('Nick = ["hair"]'), 37, "'Nick' in 'harder_with' cannot be a key", "for example 'nick'"),
    (*HARDER('nick = ["Hair Swatch"]'), 37, "'Hair Swatch' in 'harder_with' cannot be a key", "'hair-swatch'"),
    ("mark = 75", "harder_with = 3", 6, "'harder_with' takes a table", "[harder_with], a header"),
    ("mark = 75", 'harder = { nick = ["hair"] }', 6, "'harder' is not known here", "Did you mean 'harder_with'?"),
    # text that is no TOML
    ('key = "bench"', 'key = "bench', 2, "A text is not closed on its line", '"""'),
    ('key = "bench"', "key = bench", 2, "This value cannot be read", "Text stands in quotes"),
    ('key = "bench"', "key", 2, "There is no = after the key", "key = value"),
    ('key = "bench"', 'key = "bench" name = "x"', 2, "Something follows the value", "One key on a line"),
    ("mark = 75", "fit = 3", 6, "has a value already", "Keep one"),
    ("[criteria.types.bevel]", "[criteria.types.bevel", 33, "A header is not closed", "[[criteria]]"),
    ("[criteria.types.bevel]", "[criteria.types.bevel]\n[criteria.types.bevel]", 34, "header stands twice", "one"),
    ('use = "advisory"\n', 'stations = ["heel",\n', 34, "The file ends inside a text, list", "Close the quote"),
    ('["thumb", "finger"]', '["thumb", "finger"', 27, "A list or table is not closed", "Close it with ]"),
    ('name = "Bench"', 'name = "C:\\shears"', 3, "A backslash stands alone", "twice"),
    ("level = 3, from", "level = 3, from = 1, from", 30, "A key stands twice in these braces", "Keep one"),
    ("mark = 75", "mark = 2026-02-30", 6, "There is no such date", "no dates"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "line", "what", "mend"), BROKEN, ids=[f"{n}-{case[3]}" for n, case in enumerate(BROKEN)]
)
def test_a_fault_is_told_with_its_line_and_its_remedy(tmp_path, old, new, line, what, mend):
    assert old in BASE
    faults = faults_of(tmp_path / "bench.toml", BASE.replace(old, new, 1))
    found = [fault for fault in faults if what in fault.what]
    assert [(fault.line, mend in fault.mend) for fault in found] == [(line, True)], "\n".join(map(str, faults))
    assert str(found[0]).startswith(str(tmp_path / "bench.toml"))


def test_one_slip_of_the_pen_is_one_fault(tmp_path):
    alone = [case for case in BROKEN if case[3].endswith("is not known here")]
    assert len(alone) >= 8
    for old, new, *_ in alone:
        assert len(faults_of(tmp_path / "bench.toml", BASE.replace(old, new, 1))) == (2 if "angle" in new else 1)


def test_every_fault_of_a_file_is_told_at_once(tmp_path):
    text = BASE
    for old, new in [
        ("mark = 75", "marc = 750"),  # misspelt, and out of bounds under its right name
        ("fit = 2", "fit = 9"),
        ('"convex", "bevel"]', '"konvex", "bevel"]'),
        ('kind = "cut"', 'kind = "cutt"'),
        ("weight = 10", 'weight = "10"'),
        ("level = 3, from = 0.2, to = 0.6", "level = 3, from = 0.6, to = 0.2"),
        ("weight = 6", "weight = 6\nwidth = 3"),
    ]:
        text = text.replace(old, new, 1)
    text += '\n[[criteria]]\nkey = "hair"\nname = "Again"\nlevels = ["a", "b"]\nmust_pass = 2\n'
    told = [(fault.line, fault.what) for fault in faults_of(tmp_path / "a.toml", text)]
    assert told == [
        (5, "fit is level 9, but the ladder ends at 3."),
        (6, "'marc' is not known here."),
        (6, "'mark' is '750'."),
        (7, "'konvex' cannot stand in 'edge_types'."),
        (12, "'cutt' cannot stand in 'kind'."),
        (15, "'weight' takes a whole number, without quotes; here stands the text '10'."),
        (29, "'width' is not known here."),
        (31, "band from 0.6 to 0.2 is upside down."),
        (38, "criterion 'hair' stands twice."),
        (40, "'hair' words 2 levels, the ladder has 4."),
        (41, "a must-pass criterion needs a weight."),
    ]


def test_a_criterion_with_faults_never_makes_others_seem_faulty(tmp_path):
    only = BASE.replace('[[criteria]]\nkey = "ride-line"', '[[criteria]]\nkey = "ride-line"', 1)
    faults = faults_of(tmp_path / "a.toml", only.replace("weight = 10", "weight = 'ten'", 1))
    assert len(faults) == 1  # not also 'nothing counts for a bevel pair', nor 'needs a weight'


def test_a_criterion_whose_key_is_wrong_never_makes_a_known_fault_seem_wrong(tmp_path):
    text = BASE.replace('key = "hair"', 'key = "Hair"') + '\n[harder_with]\nnick = ["hair"]\n'
    assert [fault.line for fault in faults_of(tmp_path / "a.toml", text)] == [10]


def test_a_file_whose_every_criterion_is_faulty(tmp_path):
    text = BASE.replace("weight = 10", "weight = 'ten'").replace("weight = 6", "weight = 'six'")
    text = (
        text.replace('"pulls", ', "")
        .replace("mark = 75", "mark = 750")
        .replace('"thumb", "finger"', '"thumb", "thump"')
    )
    assert [(fault.line, fault.what.partition(";")[0]) for fault in faults_of(tmp_path / "a.toml", text)] == [
        (6, "'mark' is '750'."),
        (13, "'hair' words 3 levels, the ladder has 4."),
        (15, "'weight' takes a whole number, without quotes"),
        (26, "'thump' cannot stand in 'blades'."),
        (28, "'weight' takes a whole number, without quotes"),
    ]


def test_single_brackets_over_a_criterion(tmp_path):
    faults = faults_of(
        tmp_path / "a.toml", BASE.partition('\n[[criteria]]\nkey = "ride')[0].replace("[[", "[").replace("]]", "]")
    )
    assert [(fault.line, fault.mend) for fault in faults] == [
        (9, "For example: [[criteria]], a header over each criterion.")
    ]


def test_an_empty_file_says_what_a_rubric_needs(tmp_path):
    faults = faults_of(tmp_path / "a.toml", "")
    assert {fault.what for fault in faults} == {
        f"'{name}' is missing." for name in ("key", "name", "levels", "criteria")
    }


def test_too_many_criteria(tmp_path):
    head, _, rest = BASE.partition("[[criteria]]")
    one = rest.partition("\n[[criteria]]")[0]
    text = head + "".join("[[criteria]]" + one.replace('"hair"\nname', f'"hair-{n}"\nname') for n in range(61))
    assert [fault.what for fault in faults_of(tmp_path / "a.toml", text)] == ["'criteria' is too long."]


def test_faults_beyond_a_hundred_are_counted(tmp_path):
    text = BASE + "".join(f"zzz{n} = 1\n" for n in range(500))
    faults = faults_of(tmp_path / "a.toml", text)
    assert len(faults) == MAX_FAULTS + 1
    assert "This file has more than 100 faults; the first 100 are told." in {fault.what for fault in faults}
    assert [fault.line for fault in faults] == [0, *range(35, 135)]


def test_examples_in_remedies_are_themselves_toml():
    for key, example in EXAMPLES.items():
        text = example.partition(", a header")[0]
        assert tomllib.loads(text), key


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    expected = tmp_path / "b.toml"
    expected.write_text(BASE)
    assert load_rubric(path).digest == load_rubric(expected).digest
    faults = faults_of(
        path, b"\xef\xbb\xbf" + BASE.replace("weight = 10", "weight = -1").replace("\n", "\r\n").encode()
    )
    assert [fault.line for fault in faults] == [15]


# --- broken cause maps ---------------------------------------------------------------------------------------------

BROKEN_CAUSES = [
    ('source = "from memory"\n', "", 3, "'source' is missing", 'source = "from memory"'),
    ('key = "catches"', 'key = "pushes"', 13, "the key 'pushes' stands twice", "another key"),
    ('causes = ["nick"]', 'causes = "nick"', 15, "'causes' takes a list", 'causes = ["nick", "burr"]'),
    ('cuts = ["push"]', 'cuts = ["shove"]', 8, "'shove' cannot stand in 'cuts'", "It takes: clean, catch"),
    (', cuts = ["push"]', "", 8, "a pattern needs cuts, at_most, at_least, above or below", "For example: {"),
    (', cuts = ["push"]', ', at_most = 1, figure = "widest over narrowest"', 8, "needs above or below", "For example"),
    (', cuts = ["push"]', ", atmost = 1", 8, "'atmost' is not known here", "Did you mean 'at_most'?"),
    ('edge_types = ["convex"]', 'edge_types = ["convexe"]', 18, "'convexe' cannot stand", "Did you mean 'convex'?"),
    ("at_least = 2", "at_least = 11", 9, "'at_least' is '11'", "at most 9"),
    ('when = [{ criteria = ["hair"], cuts = ["catch"] }]', "when = []", 17, "'when' is empty", "when = [{"),
    ('[[causes]]\nkey = "pushes"', '[causes]\nkey = "pushes"', 12, "has a value already", "a cause with [[causes]]"),
    ('say = "Check the angle."', "say = 3", 7, "'say' takes text", "say = "),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "what", "mend"), BROKEN_CAUSES, ids=[case[3] for case in BROKEN_CAUSES])
def test_a_fault_of_a_cause_map(tmp_path, old, new, line, what, mend):
    assert old in CAUSES
    faults = faults_of(tmp_path / "causes.toml", CAUSES.replace(old, new, 1), load_causes)
    found = [fault for fault in faults if what in fault.what]
    assert [(fault.line, mend in fault.mend) for fault in found] == [(line, True)], "\n".join(map(str, faults))


def test_a_row_on_a_criterion_that_no_rubric_has(tmp_path):
    text = CAUSES.replace('criteria = ["hair"], at_least', 'criteria = ["hiar"], at_least')
    faults = faults_of(tmp_path / "c.toml", text, lambda path: load_causes(path, criteria={"hair", "tips"}))
    assert [(fault.line, fault.mend) for fault in faults] == [(9, "Did you mean 'hair'?")]
    assert load_causes(tmp_path / "c.toml")  # without a list of criteria nothing is known to be wrong


# --- hostile files -------------------------------------------------------------------------------------------------


def test_a_file_in_utf_16(tmp_path):
    faults = faults_of(tmp_path / "a.toml", BASE.encode("utf-16"))
    assert [(fault.line, fault.what) for fault in faults] == [(1, "Here the text is not UTF-8.")]


def test_one_byte_of_another_encoding(tmp_path):
    faults = faults_of(tmp_path / "a.toml", BASE.replace('name = "Hair"', 'name = "Häar"').encode("latin-1"))
    assert [(fault.line, "UTF-8" in fault.mend) for fault in faults] == [(11, True)]


def test_a_file_over_a_megabyte_is_not_read(tmp_path):
    faults = faults_of(tmp_path / "a.toml", BASE + "# " + "x" * 1_000_000)
    assert [fault.what for fault in faults] == ["This file is larger than 1 MB."]


HOSTILE = {
    "brackets": "x = " + "[" * 100_000 + "]" * 100_000,
    "tables": "x = " + "{a=" * 5_000 + "1" + "}" * 5_000,
    "dots": ".".join(["a"] * 400_000) + " = 1",
    "digits": "fit = " + "9" * 100_000,
    "million-rows": "[[criteria]]\n" * 15_000,
    "keys": "".join(f"k{n} = 1\n" for n in range(15_000)),
    "dots-in-quotes": "[" + ".".join(['"a b"'] * 100_000) + "]",
    "one-long-word": "a" * 900_000,
    "nul": 'key = "a\x00b"',
    "escape": 'key = "a\x1b[2Jb"',
    "quotes": "key = " + '"' * 900_001,
    "dashes": "# " + "-" * 900_000 + "\nkey = 1",
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused_in_good_time(tmp_path, name):
    start = time.process_time()
    for load in (load_rubric, load_causes):
        assert faults_of(tmp_path / "a.toml", HOSTILE[name], load)
    assert time.process_time() - start < 10


@pytest.mark.parametrize("depth", [13, 150, 220, 400, 5_000])
@pytest.mark.parametrize(("opened", "closed"), [("[", "]"), ("{ a = ", "}")])
def test_nesting_is_refused_at_any_depth(tmp_path, depth, opened, closed):
    text = BASE.replace("mark = 75", f"mark = {opened * depth}1{closed * depth}")
    for load in (load_rubric, load_causes):
        faults = faults_of(tmp_path / "a.toml", text, load)
        assert [(fault.line in {0, 6}, fault.what) for fault in faults] == [
            (True, "Here tables or lists stand in each other a dozen deep.")
        ]


def test_what_a_file_says_cannot_move_the_terminal(tmp_path):
    text = BASE.replace("mark = 75", '"\\u001b[2J\\u202e" = "\\u001b]0;x\\u0007"').replace(
        'kind = "cut"', 'kind = "\\u001b[31m' + "z" * 5_000 + '"'
    )
    said = "\n".join(map(str, faults_of(tmp_path / "a.toml", text)))
    assert "\\x1b" in said
    assert all(sign.isprintable() or sign == "\n" for sign in said)
    assert max(map(len, said.splitlines())) < 500


def test_markup_in_a_rubric_is_kept_as_text(tmp_path):
    (tmp_path / "a.toml").write_text(BASE.replace('name = "Hair"', "name = '<script>alert(1)</script>'"))
    assert load_rubric(tmp_path / "a.toml").criteria[0].name == "<script>alert(1)</script>"


# --- finding -------------------------------------------------------------------------------------------------------


def test_a_rubric_is_found_by_key_or_by_path(tmp_path):
    assert find_rubric("shears").key == "shears"
    assert find_rubric(str(rubrics_dir() / "toothed.toml")).key == "toothed"
    (tmp_path / "mine.toml").write_text(BASE)
    assert find_rubric("bench", tmp_path).key == "bench"


def test_your_own_rubric_comes_before_the_shipped_one(tmp_path):
    (tmp_path / "any-name.toml").write_text(BASE.replace('"bench"', '"shears"'))
    assert find_rubric("shears", tmp_path).name == "Bench"


def test_a_rubric_that_is_not_there(tmp_path):
    with pytest.raises(NotFoundError, match="Did you mean 'shears'"):
        find_rubric("sheers")
    with pytest.raises(NotFoundError, match="no such file"):
        find_rubric(str(tmp_path / "none.toml"))
    with pytest.raises(InputError, match="not a file"):
        find_rubric(f"{tmp_path}/")
    with pytest.raises(InputError, match="does not exist"):
        find_rubric("x", tmp_path / "nowhere")


def test_a_broken_neighbour_does_not_hide_a_sound_rubric(tmp_path):
    (tmp_path / "bench.toml").write_text(BASE)
    (tmp_path / "broken.toml").write_text("x")
    assert find_rubric("bench", tmp_path).key == "bench"
    with pytest.raises(FileFaultsError):
        find_rubric("broken", tmp_path)
    with pytest.raises(NotFoundError, match=r"broken\.toml"):
        find_rubric("else", tmp_path)
    with pytest.raises(FileFaultsError):
        list_rubrics(tmp_path)


# --- properties ----------------------------------------------------------------------------------------------------


def _toml(value):
    """A writer of just the TOML that rubrics need, so that the round trip has a second road."""
    match value:
        case bool():
            return str(value).lower()
        case dict():
            inner = ", ".join(f"{json.dumps(str(key))} = {_toml(one)}" for key, one in value.items() if one is not None)
            return f"{{ {inner} }}"
        case list():
            return f"[{', '.join(map(_toml, value))}]"
        case str():
            return json.dumps(value, ensure_ascii=True)
        case _:
            return repr(value)


@pytest.mark.parametrize("key", SHIPPED)
def test_a_rubric_written_out_and_read_again_is_the_same(tmp_path, key):
    rubric = find_rubric(key)
    plain = rubric.model_dump(mode="json", by_alias=True)
    path = tmp_path / "again.toml"
    path.write_text("".join(f"{name} = {_toml(value)}\n" for name, value in plain.items() if value is not None))
    assert load_rubric(path) == rubric
    assert load_rubric(path).digest == rubric.digest


@given(st.text(max_size=200))
def test_any_text_is_a_rubric_or_tells_its_faults(tmp_path_factory, text):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_text(text, encoding="utf-8", errors="surrogatepass")
    with pytest.raises(FileFaultsError) as caught:
        load_rubric(path)
    assert all(fault.what and fault.mend for fault in caught.value.faults)


LINES = BASE.splitlines()


CHANGED = [
    "", "x", "x = 1", 'key = ""', "levels = [[]]", "weight = {}", "types = []", "bands = [1]", "[criteria]",
    "[[criteria]]", "cuts = { a = 'b' }", "target = 1e999", "push_mm = { 1 = -1 }", "types.bevel.use = 1",
]  # fmt: skip


@given(st.integers(0, len(LINES) - 1), st.sampled_from(CHANGED))
def test_any_one_line_changed_gives_a_rubric_or_faults_on_lines_that_exist(tmp_path_factory, at, line):
    path = tmp_path_factory.getbasetemp() / "changed.toml"
    path.write_text("\n".join([*LINES[:at], line, *LINES[at + 1 :]]))
    faults: tuple[Fault, ...] = ()
    try:
        load_rubric(path)
    except FileFaultsError as error:
        faults = error.faults
    assert all(0 <= fault.line <= len(LINES) and fault.mend for fault in faults)
    assert not [fault for fault in faults if re.search(r"Input should|pydantic|validation error", fault.what)]
