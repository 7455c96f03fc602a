"""What a trial's word rests on, when more hairs do not help, and what may be compared."""

from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import binomtest

from coatwright.errors import OutOfRange
from coatwright.paper.verdict import word_for
from coatwright.salon import verdicts
from coatwright.salon.history import PaperCount
from coatwright.salon.paper_results import trial_result
from coatwright.web.pages.paper.words import trial_told
from tests.salon.making import TODAY, dog, old_coat

DAY = TODAY - timedelta(days=3)


def paper(id="sheet", *, day=DAY, tool="knife", zone="back", **more):
    return PaperCount(id, day, zone, tool, **{"sheet": "a5", **more})


def whole_hairs(rng, of):
    return tuple(np.round(rng.normal(32.0, 3.0, of), 3))


def fingers(rng):
    return paper("fingers", tool="", purpose="fingers", open_mm=whole_hairs(rng, 100))


def trial(*papers, tool="knife", coat=()):
    known = dog(papers=papers, assessments=coat)
    return verdicts.trial_of(known, verdicts.trials_of(known, tool=tool)[-1])


def torn(rng, of):
    return tuple(np.round(rng.uniform(5.0, 24.0, of), 3))


# --- few judged ends --------------------------------------------------------------------------------------


def test_few_judged_ends_are_set_aside_and_the_lengths_speak_alone():
    rng = np.random.default_rng(1)
    some = paper(whole_mm=whole_hairs(rng, 7), broken_mm=tuple(np.round(rng.normal(32, 3, 8), 3)),
                 open_mm=whole_hairs(rng, 40))  # fmt: skip
    found = trial(some, fingers(rng))
    assert found.belief is found.testimony.lengths
    assert found.verdict.word != "breaks"  # as 8 broken of 15 judged would have it
    assert "15 judged ones are fewer than 40" in found.verdict.why
    result = trial_result(found)
    assert (result["judged"], result["measured"]) == (15, 55)


def test_the_coat_model_with_a_few_ends_never_says_that_a_tool_breaks():
    rng = np.random.default_rng(2)
    # halves and pieces of the model's old coat, hardly an end judged
    some = paper(broken_mm=torn(rng, 5), open_mm=(*torn(rng, 45), *whole_hairs(rng, 20)))
    found = trial(some, coat=(old_coat(),))
    assert found.heard.control == "layers"
    assert found.verdict.over > 0.95
    assert found.verdict.word == "doubtful"


# --- when more hairs do not help --------------------------------------------------------------------------


def told_everywhere(found):
    """The settling sentence as desk and JSON have it."""
    texts = {trial_told(found).settling, trial_result(found)["more"]["text"], found.settling.text}
    assert len(texts) == 1
    more = trial_result(found)["more"]
    assert (more["even"], more["likely"]) == (None, None)
    return texts.pop()


def test_lengths_that_cannot_clear_say_what_would():
    rng = np.random.default_rng(3)
    found = trial(paper(open_mm=whole_hairs(rng, 200)), fingers(rng))
    assert (found.verdict.word, word_for(found.belief)) == ("doubtful", "sound")
    said = told_everywhere(found)
    assert said == ("More hairs do not settle this: judge the ends of 40 or more, or count them by hand.")


def test_the_coat_model_alone_says_what_would_settle_it():
    rng = np.random.default_rng(4)
    found = trial(paper(open_mm=(*torn(rng, 50), *whole_hairs(rng, 40))), coat=(old_coat(),))
    assert (found.verdict.word, word_for(found.belief)) == ("doubtful", "breaks")
    assert told_everywhere(found) == (
        "More hairs do not settle this: judge ends, or pull a sheet with bare fingers."
    )


def test_witnesses_that_contradict_each_other_are_not_settled_by_more_hairs():
    rng = np.random.default_rng(5)
    short = tuple(np.round(rng.uniform(8.0, 24.0, 60), 3))  # whole hairs, shorter than the fingers took
    found = trial(paper(whole_mm=(*whole_hairs(rng, 100), *short)), fingers(rng))
    assert found.testimony.contradicted
    assert found.verdict.word == "doubtful"
    assert word_for(found.belief) != "doubtful"
    assert "contradict each other" in told_everywhere(found)


def test_a_word_that_stands_still_says_so():
    found = trial(paper(sheet="", counted_whole=400, counted_broken=2))
    assert (found.verdict.word, found.settling.more) == ("sound", 0)


# --- two trials -------------------------------------------------------------------------------------------


def test_too_few_hairs_are_not_compared():
    few = trial(paper(sheet="", counted_whole=5, counted_broken=4))
    many = trial(paper(sheet="", counted_whole=200, counted_broken=2, tool="stone"), tool="stone")
    for pair in ((few, many), (many, few)):
        with pytest.raises(OutOfRange, match="too few hairs to be compared"):
            verdicts.compare_trials(*pair)


def test_two_tools_are_compared_where_both_were_tested_and_not_by_a_test_without_a_word():
    early = DAY - timedelta(days=20)
    known = dog(
        papers=(
            paper("1", day=early, sheet="", counted_whole=70, counted_broken=30),
            paper("2", day=early, sheet="", tool="stone", counted_whole=200, counted_broken=1),
            paper("3", zone="ribs", sheet="", counted_whole=300, counted_broken=1),
            paper("4", sheet="", tool="stone", counted_whole=2, counted_broken=9),
        )
    )
    knife, stone = (
        [verdicts.trial_of(known, key) for key in verdicts.trials_of(known, tool=tool)]
        for tool in ("knife", "stone")
    )
    found = verdicts.compared(knife, stone, "knife", "stone")
    assert (found.first.key.zone, found.first.key.day, found.second.key.day) == ("back", early, early)
    assert found.same
    assert found.words.startswith("knife breaks more than stone")
    elsewhere = verdicts.compared(knife[1:], stone, "knife", "stone")
    assert not elsewhere.same
    assert verdicts.compared(knife, stone[1:], "knife", "stone") is None


# --- the exact range --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("broken", "judged"), [(0, 60), (3, 60), (60, 60)])
def test_the_exact_range_of_a_count_is_given_in_json(broken, judged):
    """Checked against scipy.stats.binomtest, whose exact interval is that of Clopper & Pearson 1934."""
    found = trial(paper(sheet="", counted_whole=judged - broken, counted_broken=broken))
    exact = binomtest(broken, judged).proportion_ci(0.95, method="exact")
    assert trial_result(found)["exact"] == {
        "low": pytest.approx(exact.low, abs=1e-4),
        "high": pytest.approx(exact.high, abs=1e-4),
    }


def test_without_a_judged_end_there_is_no_exact_range():
    rng = np.random.default_rng(6)
    found = trial(paper(open_mm=whole_hairs(rng, 60)), fingers(rng))
    assert trial_result(found)["exact"] is None
