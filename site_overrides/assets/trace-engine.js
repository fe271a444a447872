// Between a trace's state, which holds ids, and the diagnosis, which counts by position.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  function byId(list) {
    var found = {};
    list.forEach(function (item, index) { found[item.id] = index; });
    return found;
  }

  // The network of the chosen unit, where it has one of its own.
  function networkOf(numbers) {
    var units = numbers.units || [], at = window.kbUnit ? kbUnit.pick(units.map(function (one) { return one[0]; })) : -1;
    return at < 0 || units[at][1] < 0 ? numbers.network : numbers.networks[units[at][1]];
  }

  // The heading of a page that is for other units than the chosen one, or null.
  kbTrace.foreign = function () {
    var heading = document.querySelector("[data-page-applies]");
    return heading && window.kbUnit && !kbUnit.applies(heading.dataset.pageApplies) ? heading : null;
  };

  // Chooses the unit that a trace was written for; returns what is wrong with it, or "".
  kbTrace.takeUnit = function (text) {
    var why = "";
    if (text && window.kbUnit && text !== kbUnit.words()) {
      why = kbUnit.choose(text);
      if (why) { kbUnit.refuse(why); }
    }
    return why;
  };

  // `numbers` is what the page's own numbers file holds. All results name causes, checks, remedies and people by id.
  kbTrace.engineOf = function (numbers) {
    var network = networkOf(numbers), net = kbDiagnosis.prepare(network), checkAt = byId(network.checks), remedyAt = byId(network.remedies), ownerAt = {};

    // A remedy is known on the page by the cause under which it is written, in the network by the first cause that it mends.
    Object.keys(numbers.remedies).forEach(function (owner) {
      numbers.remedies[owner].causes.concat([owner]).forEach(function (cause) {
        if (cause in remedyAt) { ownerAt[remedyAt[cause]] = owner; }
      });
    });

    function remedyIndex(owner) {
      return Object.keys(ownerAt).map(Number).filter(function (index) { return ownerAt[index] === owner; })[0];
    }

    function lacks(action, state) {
      return (state.alone && action.helpers > 0) || action.tools.some(function (tool) { return state.missing.indexOf(tool) >= 0; });
    }

    function placesAt(state) {
      var found = [];
      [[numbers.checks, network.checks, checkAt], [numbers.remedies, network.remedies, null]].forEach(function (kind) {
        Object.keys(kind[0]).forEach(function (id) {
          var index = kind[2] ? kind[2][id] : remedyIndex(id);
          if (state.at && kind[0][id].place === state.at && index !== undefined && kind[1][index].place >= 0 && found.indexOf(kind[1][index].place) < 0) {
            found.push(kind[1][index].place);
          }
        });
      });
      return found;
    }

    // The state as the diagnosis wants it; `leave` is the id of a check whose answer is left out.
    function counted(state, leave) {
      var found = {
        level: Math.max(0, numbers.people.indexOf(state.who)), answers: [], unsure: [], failed: [], came_back: [], no_checks: [], no_remedies: [],
        places: placesAt(state), away: state.away
      };
      state.log.forEach(function (entry) {
        var index = entry.kind === "check" ? checkAt[entry.id] : remedyIndex(entry.id), check = numbers.checks[entry.id];
        if (index === undefined) { return; }
        if (entry.kind === "remedy") {
          if (entry.answer === "failed") { found.failed.push(index); }
          if (entry.answer === "x") { found.no_remedies.push(index); }
        } else if (entry.answer === "x") { found.no_checks.push(index); }
        else if (entry.answer === "?") { found.unsure.push(index); }
        else if (entry.id !== leave) {
          found.answers.push([index, check.outcomes.indexOf(entry.answer)]);
          if (entry.hold === "!") { found.came_back.push(index); }
        }
      });
      Object.keys(numbers.checks).forEach(function (id) {
        if (id in checkAt && lacks(numbers.checks[id], state)) { found.no_checks.push(checkAt[id]); }
      });
      Object.keys(ownerAt).forEach(function (index) {
        if (lacks(numbers.remedies[ownerAt[index]], state)) { found.no_remedies.push(Number(index)); }
      });
      return found;
    }

    function named(belief) {
      return network.causes.map(function (id, index) { return { id: id, p: belief[index] }; });
    }

    // Causes with their probabilities, likeliest first, the unlisted one last.
    function causes(state, leave) {
      var found = named(kbDiagnosis.posterior(net, counted(state, leave))), last = found.pop();
      found.sort(function (a, b) { return b.p - a.p; });
      return found.concat([last]);
    }

    // {kind: check | remedy | hand-over | done, id, minutes, expected}
    function next(state) {
      var action = kbDiagnosis.next(net, counted(state)), id = null;
      if (action.kind === "check" || action.kind === "done") { id = network.checks[action.index].id; }
      if (action.kind === "remedy") { id = ownerAt[action.index]; }
      if (action.kind === "hand-over" && action.index !== null && action.index >= 0) { id = network.levels[action.index].id; }
      return { kind: action.kind, id: id, minutes: action.minutes, expected: action.expected_minutes };
    }

    // What each outcome of a check would do: {id, p, causes}, in the order of its outcomes.
    function prospects(state, check) {
      if (!(check in checkAt)) { return []; }
      return kbDiagnosis.why(net, counted(state, check), checkAt[check]).map(function (one) {
        return { id: numbers.checks[check].outcomes[one.outcome], p: one.probability, causes: named(one.posterior).sort(function (a, b) { return b.p - a.p; }) };
      });
    }

    // The answer that fits the others least: without it the unlisted cause falls most. Null when none stands out.
    function oddOne(state) {
      var now = unlisted(state), best = null, least = now - 0.1;
      state.log.forEach(function (entry) {
        var without;
        if (entry.kind !== "check" || entry.answer === "?" || entry.answer === "x") { return; }
        without = unlisted(state, entry.id);
        if (without < least) { least = without; best = entry; }
      });
      return best;
    }

    function unlisted(state, leave) {
      return causes(state, leave).slice(-1)[0].p;
    }

    function minutesOf(kind, id) {
      var found = kind === "check" ? network.checks[checkAt[id]] : network.remedies[remedyIndex(id)];
      return found ? found.minutes : 0;
    }

    function visitMinutes(person) {
      var found = network.levels.filter(function (level) { return level.id === person; })[0];
      return found ? found.visit_minutes : 0;
    }

    // Whether a cause, check or remedy counts for the chosen unit.
    function has(kind, id) {
      return kind === "check" ? id in checkAt : kind === "remedy" ? remedyIndex(id) !== undefined : network.causes.indexOf(id) >= 0;
    }

    function above(person) {
      return numbers.people[numbers.people.indexOf(person) + 1] || "";
    }

    return { causes: causes, next: next, prospects: prospects, oddOne: oddOne, unlisted: unlisted, lacks: lacks, minutesOf: minutesOf, has: has, visitMinutes: visitMinutes, above: above };
  };
})();
