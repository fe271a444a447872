"""The posterior agrees with general libraries, and with what the outcomes of a trace mean."""

import numpy as np
import pytest
from sklearn.naive_bayes import CategoricalNB

from kbtools.diagnosis.network import Network
from kbtools.diagnosis.posterior import State, answered, cured_by, failed, not_sure, posterior, visited
from tests.diagnosis.generate import problem
from tests.diagnosis.small import check, network, remedy

TWO = network(
    [0.5, 0.3, 0.2],
    [remedy(0, 3, 10, place=0), remedy(1, 3, 5)],
    [
        check("look", 1, [[0.9, 0.2, 0.5], [0.1, 0.8, 0.5]], place=1),
        check("reset", 1, [[0.9, 0.3, 0.5], [0.1, 0.7, 0.5]], fixes=((False,) * 3, (False, True, False))),
    ],
    reach=[3.0, 4.0],
)


def random_state(net: Network, seed: int) -> State:
    rng = np.random.default_rng(seed)
    state = State()
    for k, one in enumerate(net.checks):
        if rng.random() < 0.6:
            state = answered(state, k, int(rng.integers(len(one.outcomes))))
    return state


@pytest.mark.parametrize("seed", range(20))
def test_equals_a_categorical_naive_bayes(seed):
    net = problem(seed, causes=(3, 12), checks=(3, 14))
    state = random_state(net, seed)
    model = CategoricalNB()
    widest = max(len(c.outcomes) for c in net.checks)
    some = np.tile(np.arange(widest), (len(net.causes), 1)).T[:, :1].repeat(len(net.checks), axis=1)
    model.fit(np.vstack([some] * len(net.causes)), np.arange(len(net.causes)).repeat(widest))
    used = [k for k, _ in state.answers]
    tables = [np.log(np.array(net.checks[k].rows).T) for k in used]
    model.n_features_in_ = len(used)
    model.feature_log_prob_ = tables
    model.n_categories_ = np.array([t.shape[1] for t in tables])
    model.class_log_prior_ = np.log(net.prior)
    expected = model.predict_proba(np.array([[outcome for _, outcome in state.answers]]))[0]
    assert posterior(net, state) == pytest.approx(expected, abs=1e-10)


def test_not_sure_leaves_the_belief_alone_and_uses_the_check():
    state = not_sure(answered(State(), 0, 1), 0)
    assert posterior(TWO, state) == pytest.approx(TWO.prior)
    assert state.unsure == {0}
    assert answered(state, 0, 0).unsure == frozenset()


def test_a_second_answer_replaces_the_first():
    assert answered(answered(State(), 0, 1), 0, 0).answers == ((0, 0),)


def test_a_failed_remedy_takes_its_cause_out():
    assert posterior(TWO, failed(State(), 0)) == pytest.approx([0, 0.6, 0.4])


def test_when_nothing_is_left_the_unlisted_cause_has_it_all():
    everything = network([0.5, 0.5], [remedy(0, 2, 1), remedy(1, 2, 1)])
    assert list(posterior(everything, failed(failed(State(), 0), 1))) == [0, 1]


def test_a_check_that_cured_ends_the_trace_until_the_fault_comes_back():
    state = answered(State(), 1, 1)
    assert cured_by(TWO, state) == 1
    assert cured_by(TWO, answered(State(), 1, 0)) is None
    back = State(answers=state.answers, came_back=frozenset({1}))
    assert cured_by(TWO, back) is None
    assert posterior(TWO, back) == pytest.approx([0.05 / 0.15, 0, 0.10 / 0.15])


def test_places_are_seen_by_checks_remedies_and_where_the_caller_stands():
    assert visited(TWO, answered(State(), 0, 0)) == {1}
    assert visited(TWO, failed(State(), 0)) == {0}
    assert visited(TWO, failed(State(), 1)) == frozenset()
    assert visited(TWO, State(places=frozenset({1}))) == {1}


def test_contradictory_answers_raise_the_unlisted_cause():
    rows = [[0.98, 0.01, 0.5], [0.02, 0.99, 0.5]]
    net = network([0.6, 0.35, 0.05], [], [check("a", 1, rows), check("b", 1, rows), check("c", 1, rows[::-1])])
    state = answered(answered(State(), 0, 0), 1, 1)
    assert posterior(net, state)[-1] > net.prior[-1] * 5


def test_a_hundred_answers_do_not_underflow():
    rows = [[0.001, 0.002], [0.999, 0.998]]
    net = network([0.5, 0.5], [], [check(f"c{i}", 1, rows) for i in range(150)])
    state = State(answers=tuple((i, 0) for i in range(150)))
    assert posterior(net, state) == pytest.approx([0, 1], abs=1e-40)
    assert posterior(net, state)[0] == pytest.approx(2.0**-150, rel=1e-9)


@pytest.mark.parametrize(
    "change, word",
    [
        ({"prior": (0.5, 0.6, 0.2)}, "sum to 1"),
        ({"prior": (0.5, 0.5)}, "one prior for each"),
        ({"checks": (check("a", 1, [[0.5, 0.5, 0.5], [0.4, 0.5, 0.5]]),)}, "every cause must sum"),
        ({"checks": (check("a", -1, [[1, 1, 1]]),)}, "negative"),
        ({"checks": (check("a", 1, [[1, 1, 1]], only_after=(3,)),)}, "only_after"),
        ({"remedies": (remedy(0, 2, 1),)}, "one cure per cause"),
        ({"remedies": (remedy(0, 3, 1, place=2),)}, "place or level"),
    ],
)
def test_a_network_that_does_not_fit_is_refused(change, word):
    values = {name: getattr(TWO, name) for name in TWO.__dataclass_fields__}
    with pytest.raises(ValueError, match=word):
        Network(**{**values, **change})


def test_checks_that_wait_for_each_other_are_refused():
    rows = [[1.0, 1.0]]
    net = network([0.5, 0.5], [], [check("a", 1, rows, only_after=(1,)), check("b", 1, rows, only_after=(0,))])
    with pytest.raises(ValueError, match="circle"):
        _ = net.arrays
