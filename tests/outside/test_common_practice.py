"""What every workshop does, reproduced by the arithmetic. Common practice, no source."""

from kbtools.diagnosis.network import Check, Network
from kbtools.diagnosis.numbers import named_row, prior, unlisted_row, unnamed_row
from kbtools.diagnosis.policy import next_action
from kbtools.diagnosis.posterior import State, answered, posterior
from tests.diagnosis.small import network, remedy


def told(name: str, causes: list[str], minutes: float, seen_with: list[dict[str, str]], **more: object) -> Check:
    """Return a check as an author writes it: for each outcome the causes it is seen with; the first is normal."""
    outcomes = len(seen_with)
    columns = []
    for cause in causes:
        named = {o: words[cause] for o, words in enumerate(seen_with) if cause in words}
        columns.append(named_row(named, outcomes, 0) if named else unnamed_row(outcomes, 0))
    columns.append(unlisted_row(outcomes))
    rows = tuple(zip(*columns, strict=True))
    return Check(name, minutes, rows, tuple(f"o{o}" for o in range(outcomes)), **more)  # type: ignore[arg-type]


def of(causes: list[str], minutes: list[float], checks: list[Check]) -> Network:
    count = len(causes) + 1
    return network(
        prior([None] * len(causes)), [remedy(i, count, minutes[i]) for i in range(len(causes))], checks, unsolved=240
    )


def likeliest(net: Network, *answers: tuple[int, int]) -> int:
    state = State()
    for check, outcome in answers:
        state = answered(state, check, outcome)
    return int(posterior(net, state).argmax())


def test_half_split_of_a_supply_path():
    # Present at the panel plug: the panel. Absent there but present at the pump: the fuse or wire between.
    # Absent at the pump too: battery or breaker.
    causes = ["panel", "wire-between", "battery-or-breaker"]
    absent_beyond_pump = {"wire-between": "always", "battery-or-breaker": "always"}
    plug = told("volts-at-panel-plug", causes, 4, [{"panel": "always"}, absent_beyond_pump])
    pump = told(
        "volts-at-pump", causes, 6, [{"panel": "always", "wire-between": "always"}, {"battery-or-breaker": "always"}]
    )
    net = of(causes, [60, 45, 40], [plug, pump])
    assert next_action(net, State()).kind == "check"
    assert likeliest(net, (0, 0)) == 0
    assert likeliest(net, (0, 1), (1, 0)) == 1
    assert likeliest(net, (0, 1), (1, 1)) == 2


def test_a_leg_that_moves_unasked_has_its_valve_open_or_stuck():
    # From fully stowed, command front, rear and each side in turn and watch: the leg that moves with a command
    # that is not its own has the bad valve.
    causes = ["front-left-valve", "front-right-valve", "rear-left-valve", "rear-right-valve"]
    front = told("command-front", causes, 3, [{}, {"rear-left-valve": "usually"}, {"rear-right-valve": "usually"}])
    rear = told("command-rear", causes, 3, [{}, {"front-left-valve": "usually"}, {"front-right-valve": "usually"}])
    net = of(causes, [90, 90, 90, 90], [front, rear])
    assert likeliest(net, (0, 1)) == 2
    assert likeliest(net, (0, 0), (1, 2)) == 1
    assert next_action(net, State()).kind == "check"


def test_a_frozen_controller_that_recovers_was_upset_by_a_surge():
    # Pull its plugs for some twenty seconds: check and remedy at once.
    causes = ["upset-by-a-surge", "controller-dead", "no-supply"]
    fixes = ((False,) * 4, (True, False, False, False))
    plugs = told("pull-the-plugs", causes, 3, [{}, {"upset-by-a-surge": "always"}], fixes=fixes)
    net = of(causes, [120, 120, 40], [plugs])
    first = next_action(net, State())
    assert (first.kind, first.index) == ("check", 0)
    assert next_action(net, answered(State(), 0, 1)).kind == "done"
    assert likeliest(net, (0, 0)) != 0


def test_shaking_the_vehicle_while_it_levels_is_no_fault():
    causes = ["somebody-moved-inside", "sensor-loose"]
    still = told("everybody-off-and-again", causes, 2, [{}, {"somebody-moved-inside": "always"}])
    net = of(causes, [1, 60], [still])
    assert likeliest(net, (0, 1)) == 0
    assert posterior(net, answered(State(), 0, 1))[0] > 0.9
