"""`fit` as it is called from outside: invariances, empties and extremes, learnt gaps, chances."""

import copy
import json

import numpy as np
import pytest

from evalkit.maths import skill
from evalkit.maths.errors import UnusableInputError
from evalkit.maths.ordinal import hermite_nodes
from evalkit.maths.simulate import Course, Setting, as_observations, simulate_trainee
from evalkit.maths.skill.chance import Ahead, joint_chance, next_pair, single_chance
from evalkit.maths.skill.gaps import learn_gaps
from evalkit.maths.skill.hyper import Hyper, read_hyper
from evalkit.maths.skill.input import read_observations
from evalkit.maths.skill.rounds import outlook

GIVEN = {"thresholds": [-1.8, 0.0, 1.8], "difficulty_effect": 0.8, "draws": 1024}
TAGS = {"x": {"c0": 0.6}}


def observations(seed=1, **setting):
    simulated = simulate_trainee(np.random.default_rng(seed), Setting(**setting), Hyper(tag_effect=TAGS))
    return json.loads(json.dumps(as_observations(simulated.seen)))


@pytest.fixture(scope="module")
def three_rounds():
    return observations(n_rounds=3, n_pairs=6, n_criteria=4, n_must_pass=2)


@pytest.fixture(scope="module")
def answer(three_rounds):
    return skill.fit(three_rounds, GIVEN)


def numbers(found):
    return found["mean"], found["sd"], found["next_pair"]["per_criterion"], found["self_bias"]["mean"]


def test_the_answer_is_json_with_the_promised_shapes(three_rounds, answer):
    back = json.loads(json.dumps(answer, allow_nan=False))
    for matrix in (back["mean"], back["sd"], back["self_bias"]["mean"], back["self_bias"]["sd"]):
        assert np.array(matrix).shape == (3, 4)
    assert len(back["next_pair"]["per_criterion"]) == 4
    assert 0 < back["next_pair"]["joint_lo80"] < back["next_pair"]["joint"] < back["next_pair"]["joint_hi80"] < 1
    assert skill.fit(three_rounds, GIVEN) == answer


def test_the_order_of_pairs_changes_nothing(three_rounds, answer):
    turned = copy.deepcopy(three_rounds)
    turned["pairs"].reverse()
    for ours, theirs in zip(numbers(skill.fit(turned, GIVEN)), numbers(answer), strict=True):
        assert np.array(ours) == pytest.approx(np.array(theirs), abs=1e-6)


def test_the_order_of_criteria_changes_only_their_places(three_rounds, answer):
    turned = copy.deepcopy(three_rounds)
    turned["criteria"].reverse()
    for ours, theirs in zip(numbers(skill.fit(turned, GIVEN)), numbers(answer), strict=True):
        assert np.array(ours)[..., ::-1] == pytest.approx(np.array(theirs), abs=1e-6)


def test_a_later_origin_of_the_calendar_changes_nothing(three_rounds, answer):
    moved = copy.deepcopy(three_rounds)
    for entry in moved["rounds"]:
        entry["months"] += 240.0
    assert np.array(skill.fit(moved, GIVEN)["mean"]) == pytest.approx(np.array(answer["mean"]), abs=1e-6)


def test_severity_and_difficulty_are_the_same_shift(three_rounds):
    harder, severe = copy.deepcopy(three_rounds), copy.deepcopy(three_rounds)
    for pair in harder["pairs"]:
        pair["difficulty"] += 1.0
    for pair in severe["pairs"]:
        pair["mentor"] = "M"
    one = skill.fit(harder, GIVEN)
    other = skill.fit(severe, GIVEN | {"severity": {"M": 0.8}})
    assert np.array(one["mean"]) == pytest.approx(np.array(other["mean"]), abs=1e-9)


def test_a_round_without_pairs_carries_the_skill_on_with_more_doubt(three_rounds, answer):
    longer = copy.deepcopy(three_rounds)
    longer["rounds"].append({"round": 4, "months": 6.0})
    found = skill.fit(longer, GIVEN)
    assert found["evidence"]["rounds_without_levels"] == [4]
    assert np.array(found["mean"][3]) == pytest.approx(np.array(answer["mean"][2]), abs=0.02)
    # The walk adds rw_sd^2 for each of the four months.
    grown = np.array(found["sd"][3]) ** 2 - np.array(found["sd"][2]) ** 2
    assert grown == pytest.approx(0.36 * 4.0, abs=0.01)


def test_a_trend_in_doubt_widens_the_forecast_and_follows_the_line(three_rounds):
    ahead = GIVEN | {"horizon_months": 3.0}
    plain, trend = skill.fit(three_rounds, ahead), skill.fit(three_rounds, ahead | {"slope_sd": 0.5})
    width = [found["next_pair"]["joint_hi80"] - found["next_pair"]["joint_lo80"] for found in (plain, trend)]
    assert width[1] > width[0]
    rising = skill.fit(three_rounds, GIVEN | {"slope_mean": 1.0, "rw_sd": 0.01, "initial_sd": 5.0})
    assert np.diff(np.array(rising["mean"]), axis=0) == pytest.approx(1.0, abs=0.05)


def test_a_trend_in_doubt_is_the_covariance_the_model_states():
    """No pair in the last round: its skill is the prior's regression on the first round, trend included."""
    given = observations(3, n_rounds=1, n_pairs=4, n_criteria=2, n_must_pass=1)
    given["rounds"].append({"round": 2, "months": 2.0})
    hyper = GIVEN | {"slope_mean": 0.3, "slope_sd": 0.7, "method": "gvb"}
    found = skill.fit(given, hyper)
    mean, sd = np.array(found["mean"]), np.array(found["sd"])
    assert mean[1] - mean[0] == pytest.approx(0.6, abs=1e-6)
    assert sd[1] ** 2 - sd[0] ** 2 == pytest.approx(0.36 * 2 + 0.7**2 * 4, abs=1e-6)


# --- empties and extremes -------------------------------------------------------------------------------------------


def test_no_round_is_refused():
    with pytest.raises(UnusableInputError, match="no round yet"):
        skill.fit(observations() | {"rounds": [], "pairs": []}, GIVEN)


def test_rounds_in_which_nothing_was_scored_are_refused(three_rounds):
    empty = copy.deepcopy(three_rounds)
    for pair in empty["pairs"]:
        pair["scores"] = {}
    with pytest.raises(UnusableInputError, match="nothing to estimate"):
        skill.fit(empty, GIVEN)


def test_one_pair_says_how_little_it_knows():
    found = skill.fit(observations(n_rounds=1, n_pairs=1, share_missing=0.0), {"draws": 1024})
    assert found["evidence"]["pairs"] == 1
    assert min(found["sd"][0]) > 0.9
    low, high = found["prior_check"]["joint"]
    assert high - low > 0.03
    assert found["next_pair"]["prob_joint_at_least_target"] < 0.9


def test_all_levels_at_the_top_do_not_make_a_certainty():
    given = observations(n_rounds=1)
    for pair in given["pairs"]:
        pair["scores"] = dict.fromkeys(given["criteria"], 3)
    found = skill.fit(given, {"draws": 1024})
    assert found["evidence"]["levels_never_used"] == [0, 1, 2]
    assert found["next_pair"]["joint"] < 0.995
    assert max(found["next_pair"]["per_criterion"]) < 1.0


def test_all_levels_exactly_as_required_are_not_held_against_the_trainee():
    """With gaps fixed at 1.8 such a trainee is told a low chance; learnt gaps see that the level is simply wide."""
    given = observations(n_rounds=2)
    for pair in given["pairs"]:
        pair["scores"] = dict.fromkeys(given["criteria"], 2)
        pair["difficulty"], pair["tags"] = 0.0, []
    fixed, learnt = skill.fit(given, GIVEN), skill.fit(given, {"draws": 1024})
    assert learnt["next_pair"]["joint"] > 0.7
    assert learnt["next_pair"]["joint"] > fixed["next_pair"]["joint"] + 0.15


def test_a_level_never_used_is_named_and_answered():
    given = observations(n_rounds=2)
    for pair in given["pairs"]:
        pair["scores"] = {key: None if y is None else max(y, 1) for key, y in pair["scores"].items()}
    found = skill.fit(given, {"draws": 1024})
    assert 0 in found["evidence"]["levels_never_used"]
    assert np.isfinite(found["mean"]).all()


def test_99_percent_missing_leaves_the_prior_and_says_so():
    given = observations(n_rounds=2, n_criteria=10, share_missing=0.0)
    for n, pair in enumerate(given["pairs"]):
        pair["scores"] = {"c0": pair["scores"]["c0"]} if n in (3, 14) else {}
    found = skill.fit(given, {"draws": 1024})
    assert found["evidence"]["share_missing"] == pytest.approx(0.99)
    assert found["evidence"]["criteria_never_scored"] == [f"c{i}" for i in range(1, 10)]
    assert min(found["sd"][1]) > 1.0
    low, high = found["prior_check"]["joint"]
    assert high > 3 * low


def test_dates_out_of_order_are_refused(three_rounds):
    turned = copy.deepcopy(three_rounds)
    turned["rounds"][2]["months"] = 0.5
    with pytest.raises(UnusableInputError, match="in the order of their dates"):
        skill.fit(turned, GIVEN)


def test_a_round_or_a_pair_there_twice_is_refused(three_rounds):
    for part in ("rounds", "pairs"):
        twice = copy.deepcopy(three_rounds)
        twice[part].append(twice[part][-1])
        with pytest.raises(UnusableInputError, match="there twice"):
            skill.fit(twice, GIVEN)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"levels": 1}, "levels must"),
        ({"required_level": 4}, "required_level must"),
        ({"criteria": []}, "criteria must"),
        ({"criteria": ["c0", "c0"]}, "twice"),
        ({"must_pass": ["c99"]}, "c99"),
        ({"pairs": [{"round": 9, "pair": 1}]}, "not among the rounds"),
        ({"pairs": [{"round": 1, "pair": 1, "scores": {"c0": 4}}]}, "must be 0 to 3"),
        ({"pairs": [{"round": 1, "pair": 1, "scores": {"c0": True}}]}, "must be 0 to 3"),
        ({"pairs": [{"round": 1, "pair": 1, "scores": {"c77": 1}}]}, "c77"),
        ({"pairs": [{"round": 1, "pair": 1, "difficulty": float("nan")}]}, "finite"),
        ({"rounds": [{"round": 1}]}, "months"),
    ],
)
def test_bad_observations_get_one_clear_error(three_rounds, change, said):
    with pytest.raises(UnusableInputError, match=said):
        skill.fit(three_rounds | change, GIVEN)


@pytest.mark.parametrize(
    "change",
    [
        {"pair_sd": 0.0},
        {"general_share": 1.0},
        {"rw_sd": -1.0},
        {"target": 1.0},
        {"initial_sd": float("nan")},
        {"thresholds": [0.0, -1.0, 1.0]},
        {"thresholds": [0.0, 1.0]},
        {"method": "guess"},
        {"colour": 1},
        {"severity": 3},
        {"draws": 3},
    ],
)
def test_bad_hyper_parameters_are_refused(three_rounds, change):
    with pytest.raises(UnusableInputError):
        skill.fit(three_rounds, GIVEN | change)


def test_without_self_levels_there_is_no_bias(three_rounds):
    silent = copy.deepcopy(three_rounds)
    for pair in silent["pairs"]:
        del pair["self"]
    assert skill.fit(silent, GIVEN)["self_bias"] is None


def test_without_must_pass_criteria_there_is_no_joint_chance(three_rounds):
    found = skill.fit(three_rounds | {"must_pass": []}, GIVEN)
    assert found["next_pair"]["joint"] is None
    assert found["prior_check"] is None


# --- gaps and chances -----------------------------------------------------------------------------------------------


def test_gaps_are_recovered_and_the_integral_does_not_hang_on_its_nodes():
    simulated = simulate_trainee(np.random.default_rng(6), Setting(gaps=(0.9, 2.6)), Hyper(), course=Course.STEADY)
    coarse, fine = (learn_gaps(simulated.seen, Hyper(), per_gap=n) for n in (3, 9))
    gap, sd = coarse.log_gap.mean, np.sqrt(np.diagonal(coarse.log_gap.cov))
    assert np.abs((gap - np.log([0.9, 2.6])) / sd).max() < 3
    assert sd.max() < 0.2
    assert coarse.log_marginal == pytest.approx(fine.log_marginal, abs=0.01)
    for ours, theirs in zip(coarse.skill_moments(), fine.skill_moments(), strict=True):
        assert ours == pytest.approx(theirs, abs=0.005)


def test_the_chance_does_not_hang_on_the_nodes_when_every_level_is_as_required():
    """The longest tail a gap can have: no level below or above was ever seen."""
    given = observations(n_rounds=2)
    for pair in given["pairs"]:
        pair["scores"] = dict.fromkeys(given["criteria"], 2)
    seen, hyper = read_observations(given), Hyper(draws=1024)
    coarse, fine = (learn_gaps(seen, hyper, per_gap=n) for n in (3, 11))
    for ours, theirs in zip(coarse.skill_moments(), fine.skill_moments(), strict=True):
        assert ours[-1] == pytest.approx(theirs[-1], abs=0.03)


@pytest.mark.parametrize("n_levels", [2, 3, 5, 6])
def test_other_numbers_of_levels(n_levels):
    gaps = (1.5,) * (n_levels - 2)
    setting = Setting(n_rounds=3, n_levels=n_levels, required_level=max(1, n_levels - 2), gaps=gaps)
    simulated = simulate_trainee(np.random.default_rng(8), setting, Hyper(), course=Course.STEADY)
    found = skill.fit(as_observations(simulated.seen), {"draws": 512})
    assert len(found["thresholds"]["mean"]) == n_levels - 1
    off = (np.array(found["mean"]) - simulated.skill) / np.array(found["sd"])
    assert np.sqrt(np.mean(off**2)) < 1.6


def test_the_joint_chance_has_one_pair_effect_for_all_criteria():
    skills = np.array([1.0, 1.5, 2.0])
    rng = np.random.default_rng(1)
    pair = 0.6 * rng.standard_normal((200_000, 1))
    passed = rng.random((200_000, 3)) < 1 / (1 + np.exp(-skills - pair))
    assert joint_chance(skills, 0.6) == pytest.approx(passed.all(axis=1).mean(), abs=0.004)
    assert single_chance(skills, 0.6) == pytest.approx(passed.mean(axis=0), abs=0.004)
    assert joint_chance(skills, 0.6) > np.prod(single_chance(skills, 0.6))


def test_chances_without_doubt_are_those_of_the_skill_itself():
    skills = np.array([[0.5, 1.5, -0.3]])
    ahead = Ahead(np.ones(1), skills, 1e-10 * np.eye(3)[None])
    chance = next_pair(ahead, (0, 1), Hyper(draws=256))
    z, w = hermite_nodes(61)
    assert chance.per_criterion == pytest.approx(w @ (1 / (1 + np.exp(-(skills + 0.6 * z[:, None])))), abs=1e-6)
    assert chance.joint == pytest.approx(float(joint_chance(skills[0, :2], 0.6)), abs=1e-5)


def test_doubt_about_difficulty_widens_the_answer_where_only_hard_pairs_were_sent():
    given = observations(4, n_rounds=4, n_criteria=5)
    for pair in given["pairs"]:
        pair["difficulty"] = 1.0
    known, doubtful = (skill.fit(given, GIVEN | {"difficulty_effect_sd": sd}) for sd in (0.0, 0.5))
    wide = np.array(doubtful["sd"][-1]) ** 2 - np.array(known["sd"][-1]) ** 2
    assert wide == pytest.approx(0.25, abs=0.05)
    assert np.array(doubtful["mean"]) == pytest.approx(np.array(known["mean"]), abs=0.1)


def test_a_relapse_shows_in_the_round_in_which_it_happens():
    setting = Setting(n_rounds=9)
    falls, rises = [], []
    for seed in range(6):
        simulated = simulate_trainee(np.random.default_rng(seed), setting, Hyper(), course=Course.RELAPSE)
        at = int(np.argmin(np.diff(simulated.skill.mean(axis=1)))) + 1
        path = skill.skill_path(simulated.seen.through(at + 1), Hyper(draws=512))
        step = np.diff(path.mean.mean(axis=1))
        falls.append(step[-1])
        rises.append(step[:-1].mean())
    assert max(falls) < -0.4
    assert np.mean(falls) < -0.7  # of a true -1.6: one round of ten pairs is believed by half
    assert min(rises) > 0


def test_simulate_and_recover():
    rng = np.random.default_rng(12)
    hyper = Hyper(thresholds=(-1.8, 0.0, 1.8), difficulty_effect_sd=0.0)
    off, inside = [], []
    for _ in range(25):
        simulated = simulate_trainee(rng, Setting(n_rounds=6, n_criteria=6, n_must_pass=3), hyper)
        path = skill.skill_path(simulated.seen, hyper)
        off.append((path.mean - simulated.skill) / path.sd)
        inside.append(path.chance.joint_lo80 <= simulated.joint[-1] <= path.chance.joint_hi80)
    assert np.mean(off) == pytest.approx(0.0, abs=0.25)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(1.0, abs=0.15)
    assert 13 <= sum(inside) <= 25


def test_prior_check_moves_the_answer_the_way_the_prior_moved(answer):
    low, high = answer["prior_check"]["joint"]
    assert low < answer["next_pair"]["joint"] < high


def test_outlook_is_the_chance_in_the_answer(three_rounds, answer):
    found = outlook(read_observations(three_rounds), read_hyper(GIVEN))
    assert found.prob_at_target == answer["next_pair"]["prob_joint_at_least_target"]
