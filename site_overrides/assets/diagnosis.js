/* The arithmetic of a trace: posterior, costs and the next action, on numbers alone.
 *
 * kbDiagnosis.prepare(network) takes the network of a page (see kbtools/diagnosis/network.py) and returns what the other
 * functions want. A state is {level, answers: [[check, outcome]], unsure, failed, came_back, no_checks, no_remedies,
 * places: lists of positions, away}; everything but level may be left out. The numbers are those of the Python package.
 */
(function () {
  'use strict';

  var TIE = 1e-9;
  var LIGHT = 0.03;
  var CHECKS_TRIED = 4;
  var REMEDIES_TRIED = 2;
  var NEGLIGIBLE = 1e-12;
  var CHECK = 0, REMEDY = 1, HAND_OVER = 2;
  var KINDS = ['check', 'remedy', 'hand-over', 'done'];

  function flags(length, positions) {
    var found = new Uint8Array(length);
    (positions || []).forEach(function (i) { found[i] = 1; });
    return found;
  }

  function sum(values) {
    var total = 0;
    for (var i = 0; i < values.length; i++) total += values[i];
    return total;
  }

  /* ---- the network ---- */

  function closure(checks) {
    var gates = checks.map(function (check) { return flags(checks.length, check.only_after); });
    for (var pass = 0; pass < checks.length; pass++) {
      for (var k = 0; k < checks.length; k++) {
        for (var g = 0; g < checks.length; g++) {
          if (gates[k][g]) for (var h = 0; h < checks.length; h++) gates[k][h] |= gates[g][h];
        }
      }
    }
    return gates;
  }

  function keeps(check) {
    return check.rows.map(function (row, o) {
      return Float64Array.from(row, function (p, c) { return check.fixes.length && check.fixes[o][c] ? 0 : p; });
    });
  }

  function floors(net) {
    var beyond = new Float64Array(net.C).fill(net.unsolved);
    for (var level = net.top; level >= 0; level--) {
      var near = beyond.slice(), full = beyond.slice();
      net.remedies.forEach(function (remedy, r) {
        if (remedy.level > level) return;
        net.causesOf[r].forEach(function (c) {
          near[c] = Math.min(near[c], remedy.minutes);
          full[c] = Math.min(full[c], remedy.minutes + net.reach[remedy.place]);
        });
      });
      net.floors[level] = near;
      net.fullFloors[level] = full;
      var visit = net.levels[level].visit_minutes;
      beyond = full.map(function (value) { return value + visit; });
    }
  }

  function placed(actions, nowhere) {
    return actions.map(function (action) {
      return Object.assign({}, action, { place: action.place < 0 ? nowhere : action.place });
    });
  }

  /** Add what the inner loops read most, as typed arrays. */
  function quick(net) {
    net.minutes = Float64Array.from(net.remedies, function (remedy) { return remedy.minutes; });
    net.placeOf = Int32Array.from(net.remedies, function (remedy) { return remedy.place; });
    net.reach = Float64Array.from(net.reach);
    net.own = Int32Array.from(net.causesOf, function (causes) { return causes.length === 1 ? causes[0] : -1; });
    net.openTo = net.levels.map(function (_, level) {
      return Int32Array.from(
        net.remedies.map(function (_, r) { return r; }).filter(function (r) { return net.remedies[r].level <= level; })
      );
    });
    net.byMinutes = net.checks.map(function (_, k) { return k; }).sort(function (a, b) {
      return net.checks[a].minutes - net.checks[b].minutes || a - b;
    });
  }

  /** Return the network ready for use. Throws when two remedies cure one cause, or one cures it only in part. */
  function prepare(network) {
    var nowhere = network.reach_minutes.length;
    var net = {
      causes: network.causes, prior: network.prior, levels: network.levels, unsolved: network.unsolved_minutes,
      C: network.causes.length, K: network.checks.length, R: network.remedies.length,
      top: network.levels.length - 1, reach: network.reach_minutes.concat([0]), nowhere: nowhere,
      checks: placed(network.checks, nowhere), remedies: placed(network.remedies, nowhere),
      floors: [], fullFloors: [], remedyGates: [], causesOf: []
    };
    var cured = new Uint8Array(net.C);
    net.gates = closure(network.checks);
    net.keeps = network.checks.map(keeps);
    net.kept = net.keeps.map(function (rows) {
      var total = new Float64Array(net.C);
      rows.forEach(function (row) { for (var c = 0; c < net.C; c++) total[c] += row[c]; });
      return total;
    });
    network.remedies.forEach(function (remedy, r) {
      net.causesOf[r] = [];
      remedy.cures.forEach(function (share, c) {
        if (share !== 0 && (share !== 1 || cured[c])) throw new Error('a cause needs one remedy that cures it for sure');
        if (share) { cured[c] = 1; net.causesOf[r].push(c); }
      });
      net.remedyGates[r] = flags(net.K, remedy.only_after);
      remedy.only_after.forEach(function (k) {
        for (var g = 0; g < net.K; g++) net.remedyGates[r][g] |= net.gates[k][g];
      });
    });
    net.gated = net.remedyGates.some(function (row) { return row.indexOf(1) >= 0; });
    quick(net);
    floors(net);
    var none = new Uint8Array(0);
    net.scratch = net.levels.map(function () {
      return {
        cured: new Float64Array(net.R), cost: new Float64Array(net.R), ratio: new Float64Array(net.R),
        order: new Int32Array(net.R), spent: new Float64Array(net.R + 1), left: new Float64Array(net.R + 1),
        bound: new Float64Array(net.R + 2), weight: new Float64Array(net.C),
        lead: new Float64Array(nowhere + 1), first: new Int32Array(nowhere + 1), total: new Float64Array(net.R + 1),
        there: {
          weight: none, spent: none, used: none, shut: new Uint8Array(net.R), seen: flags(nowhere + 1, [nowhere])
        }, stop: 0
      };
    });
    net.after = new Float64Array(net.C);
    return net;
  }

  /* ---- what is known ---- */

  /** Return P(cause | state) as an array; everything on the last cause when nothing is possible. */
  function posterior(net, state) {
    var log = net.prior.map(Math.log);
    var back = flags(net.K, state.came_back);
    (state.answers || []).forEach(function (pair) {
      var row = net.checks[pair[0]].rows[pair[1]], fixes = net.checks[pair[0]].fixes;
      for (var c = 0; c < net.C; c++) {
        log[c] += Math.log(row[c]);
        if (back[pair[0]] && fixes.length && fixes[pair[1]][c]) log[c] = -Infinity;
      }
    });
    (state.failed || []).forEach(function (r) {
      net.causesOf[r].forEach(function (c) { log[c] = -Infinity; });
    });
    var peak = Math.max.apply(null, log);
    if (peak === -Infinity) return log.map(function (_, c) { return c === net.C - 1 ? 1 : 0; });
    var weights = log.map(function (value) { return Math.exp(value - peak); });
    var total = sum(weights);
    return weights.map(function (value) { return value / total; });
  }

  function curedBy(net, state) {
    var back = flags(net.K, state.came_back);
    var found = (state.answers || []).find(function (pair) {
      var fixes = net.checks[pair[0]].fixes;
      return fixes.length && fixes[pair[1]].some(Boolean) && !back[pair[0]];
    });
    return found ? found[0] : null;
  }

  function situation(net, state) {
    var barred = flags(net.K, state.no_checks), done = flags(net.K, state.unsure);
    var at = {
      weight: Float64Array.from(posterior(net, state)), spent: new Uint8Array(net.K),
      used: flags(net.R, state.failed), shut: flags(net.R, state.no_remedies),
      seen: flags(net.nowhere + 1, [net.nowhere].concat(state.places || []))
    };
    (state.answers || []).forEach(function (pair) { done[pair[0]] = 1; });
    (state.failed || []).forEach(function (r) { at.seen[net.remedies[r].place] = 1; });
    net.checks.forEach(function (check, k) {
      if (state.away && check.only_while_faulty) barred[k] = 1;
      if (done[k]) at.seen[check.place] = 1;
      if (done[k] || check.level > state.level) barred[k] = 0;
    });
    var behind = net.gates.map(function (row) { return row.some(function (needed, g) { return needed && barred[g]; }); });
    net.remedyGates.forEach(function (row, r) {
      if (row.some(function (needed, g) { return needed && (barred[g] || behind[g] && !done[g]); })) at.shut[r] = 1;
    });
    for (var k = 0; k < net.K; k++) at.spent[k] = done[k] || barred[k] || behind[k] ? 1 : 0;
    return at;
  }

  function afterCheck(net, at, k, row) {
    var weight = new Float64Array(net.C), spent = at.spent.slice(), seen = at.seen.slice();
    for (var c = 0; c < net.C; c++) weight[c] = at.weight[c] * row[c];
    spent[k] = 1;
    seen[net.checks[k].place] = 1;
    return { weight: weight, spent: spent, used: at.used, shut: at.shut, seen: seen };
  }

  function afterRemedy(net, at, r) {
    var weight = at.weight.slice(), used = at.used.slice(), seen = at.seen.slice();
    net.causesOf[r].forEach(function (c) { weight[c] = 0; });
    used[r] = 1;
    seen[net.remedies[r].place] = 1;
    return { weight: weight, spent: at.spent, used: used, shut: at.shut, seen: seen };
  }

  function minutesOf(net, at, action) {
    return action.minutes + (at.seen[action.place] ? 0 : net.reach[action.place]);
  }

  /** Return the first check that a row of gates still waits for and that may be done now, else -1. */
  function waitsFor(net, at, gates, level) {
    for (var k = 0; k < net.K; k++) {
      if (gates[k] && !at.spent[k] && net.checks[k].level <= level && isOpen(net, at, k, level)) return k;
    }
    return -1;
  }

  function isOpen(net, at, k, level) {
    if (at.spent[k] || net.checks[k].level > level) return false;
    for (var g = 0; g < net.K; g++) {
      if (net.gates[k][g] && !at.spent[g] && net.checks[g].level <= level) return false;
    }
    return true;
  }

  /* ---- remedies in order, then the hand-over ---- */

  function gateMinutes(net, spent, r, level) {
    var total = 0;
    for (var k = 0; k < net.K; k++) {
      if (net.remedyGates[r][k] && !spent[k] && net.checks[k].level <= level) total += net.checks[k].minutes;
    }
    return total;
  }

  /** Fill the level's scratch with the remedies in order and return how many are worth trying. */
  function inOrder(net, s, weight, at, level) {
    var mass = 0, c, i, r;
    for (c = 0; c < net.C; c++) mass += weight[c];
    var count = liveOnes(net, s, weight, at, level, NEGLIGIBLE * mass);
    putTheWays(net, s, at.seen, count);
    sortDown(s, count);
    s.spent[0] = 0;
    s.left[0] = mass;
    for (i = 0; i < count; i++) {
      r = s.order[i];
      s.spent[i + 1] = s.spent[i] + s.left[i] * s.cost[r];
      s.left[i + 1] = Math.max(s.left[i] - s.cured[r], 0);
    }
    return count;
  }

  /** Put the remedies that may cure something into the order as they stand in the list. */
  function liveOnes(net, s, weight, at, level, least) {
    var open = net.openTo[level], count = 0;
    for (var i = 0; i < open.length; i++) {
      var r = open[i], own = net.own[r], cured = 0;
      if (at.used[r] || at.shut[r]) continue;
      if (own >= 0) cured = weight[own];
      else for (var j = 0; j < net.causesOf[r].length; j++) cured += weight[net.causesOf[r][j]];
      if (!(cured > least)) continue;
      s.cured[r] = cured;
      s.cost[r] = Math.max(net.minutes[r] + (net.gated ? gateMinutes(net, at.spent, r, level) : 0), TIE);
      s.ratio[r] = cured / s.cost[r];
      s.order[count++] = r;
    }
    return count;
  }

  /** At each place still to be reached the best remedy pays the way, and better ones there follow at once. */
  function putTheWays(net, s, seen, count) {
    var i, r, place, value, lead = s.lead, first = s.first;
    for (place = 0; place < net.nowhere; place++) lead[place] = 0;
    for (i = 0; i < count; i++) {
      r = s.order[i];
      place = net.placeOf[r];
      if (seen[place] || net.reach[place] === 0) continue;
      value = s.cured[r] / (s.cost[r] + net.reach[place]);
      if (value > lead[place]) { lead[place] = value; first[place] = r; }
    }
    for (i = 0; i < count; i++) {
      r = s.order[i];
      place = net.placeOf[r];
      if (seen[place] || lead[place] === 0) continue;
      value = lead[place];
      if (first[place] === r) { s.ratio[r] = value; s.cost[r] += net.reach[place]; continue; }
      s.ratio[r] = Math.min(s.ratio[r], value * (1 - TIE * (2 + value / s.ratio[r])));
    }
  }

  /** Sort the order by falling ratio, ties by list position; the first of those that tie for the lead leads. */
  function sortDown(s, count) {
    var order = s.order, ratio = s.ratio, best = 0, i, j, r, value;
    for (i = 0; i < count; i++) if (ratio[order[i]] > best) best = ratio[order[i]];
    for (i = 0; i < count; i++) if (ratio[order[i]] >= best * (1 - TIE)) { ratio[order[i]] *= 2; break; }
    for (i = 1; i < count; i++) {
      r = order[i];
      value = ratio[r];
      for (j = i; j > 0 && ratio[order[j - 1]] < value; j--) order[j] = order[j - 1];
      order[j] = r;
    }
  }

  /**
   * Return the minutes, times mass, of trying the best first remedies and handing over. What surely exceeds `limit` is
   * not worked out: Infinity. How many remedies are tried is left in the level's scratch.
   */
  function repair(net, weight, at, level, limit) {
    var s = net.scratch[level], count = inOrder(net, s, weight, at, level);
    return level === net.top ? withEnd(net, s, count) : withHandOver(net, s, weight, at, level, count, limit);
  }

  /** Stop where the end unsolved costs least in all; of stops that tie, the last. */
  function withEnd(net, s, count) {
    var best = Infinity, k;
    for (k = 0; k <= count; k++) {
      s.bound[k] = s.spent[k] + s.left[k] * net.unsolved;
      if (s.bound[k] < best) best = s.bound[k];
    }
    for (k = count; s.bound[k] > best + TIE * s.left[0]; k--);
    s.stop = k;
    return best;
  }

  /** The same where the next level takes over. Stops that a bound rules out are not worked out. */
  function withHandOver(net, s, weight, at, level, count, limit) {
    var first = bounds(net, s, weight, level, count), tie = TIE * s.left[0], k;
    s.stop = 0;
    if (s.bound[first] > limit) return Infinity;
    var best = stopAfter(net, s, weight, at, level, first, limit), lead = best;
    for (k = 0; k <= count; k++) {
      var most = Math.min(best, limit) + tie;
      s.total[k] = k === first ? lead : Infinity;
      if (k === first || s.bound[k] > most || !(s.bound[k + 1] > s.bound[k])) continue;
      s.total[k] = stopAfter(net, s, weight, at, level, k, most);
      if (s.total[k] < best) best = s.total[k];
    }
    for (k = count; k > 0 && s.total[k] > best + tie; k--);
    s.stop = k;
    return best;
  }

  /** Fill a bound below the total of each stop and return the stop of the least one. */
  function bounds(net, s, weight, level, count) {
    var visit = net.levels[level + 1].visit_minutes, full = net.fullFloors[level + 1], whole = 0, first = 0, k, i, c;
    for (c = 0; c < net.C; c++) whole += weight[c] * full[c];
    var floor = whole;
    for (k = 0; k <= count; k++) {
      s.bound[k] = s.spent[k] + s.left[k] * visit + floor - 1e-12 * whole;
      if (s.bound[k] < s.bound[first]) first = k;
      if (k === count) break;
      var causes = net.causesOf[s.order[k]];
      for (i = 0; i < causes.length; i++) floor -= weight[causes[i]] * full[causes[i]];
    }
    s.bound[count + 1] = Infinity;
    return first;
  }

  function stopAfter(net, s, weight, at, level, stop, limit) {
    var left = s.weight, i, c;
    for (c = 0; c < net.C; c++) left[c] = weight[c];
    for (i = 0; i < stop; i++) {
      var causes = net.causesOf[s.order[i]];
      for (c = 0; c < causes.length; c++) left[causes[c]] = 0;
    }
    return s.spent[stop] + handOver(net, left, at, level, limit - s.spent[stop]);
  }

  function handOver(net, weight, at, level, limit) {
    var mass = sum(weight);
    if (level >= net.top) return mass * net.unsolved;
    var there = net.scratch[level].there, visit = mass * net.levels[level + 1].visit_minutes;
    there.spent = at.spent;
    there.used = at.used;
    return visit + repair(net, weight, there, level + 1, limit - visit);
  }

  /* ---- the policy ---- */

  /** Return E[repair after a check], times mass; stops adding once it exceeds `enough`. */
  function repairAfter(net, at, k, level, enough) {
    var rows = net.keeps[k], weight = net.after, place = net.checks[k].place, floor = net.floors[level];
    var total = 0, rest = 0, o, c;
    for (c = 0; c < net.C; c++) rest += at.weight[c] * floor[c] * net.kept[k][c];
    var spent = at.spent[k], seen = at.seen[place];
    at.spent[k] = 1;
    at.seen[place] = 1;
    for (o = 0; o < rows.length && total + rest <= enough; o++) {
      var row = rows[o], mass = 0;
      for (c = 0; c < net.C; c++) {
        mass += weight[c] = at.weight[c] * row[c];
        rest -= weight[c] * floor[c];
      }
      if (mass > 0) total += repair(net, weight, at, level, enough - total - rest);
    }
    at.spent[k] = spent;
    at.seen[place] = seen;
    return o < rows.length ? Infinity : total;
  }

  function planned(net, level) {
    var s = net.scratch[level];
    return { stop: s.stop, first: s.order[0] };
  }

  function myopic(net, at, level) {
    var now = repair(net, at.weight, at, level, Infinity), plan = planned(net, level), mass = sum(at.weight);
    var gains = new Float64Array(net.K).fill(-Infinity), best = 0;
    for (var i = 0; i < net.K; i++) {
      var k = net.byMinutes[i];
      if (!isOpen(net, at, k, level)) continue;
      var cost = minutesOf(net, at, net.checks[k]);
      // What the check may leave at most to gain more than the best so far; 1e-9 for rounding.
      var enough = now - (cost + best - 3 * TIE) * mass;
      gains[k] = (now - repairAfter(net, at, k, level, enough)) / mass - cost;
      if (gains[k] > best) best = gains[k];
    }
    return chosen(net, at, level, plan, gains, best);
  }

  function chosen(net, at, level, plan, gains, best) {
    if (best > TIE) {
      for (var k = 0; k < net.K; k++) if (gains[k] >= best - TIE) return { kind: CHECK, index: k };
    }
    if (plan.stop === 0) return { kind: HAND_OVER, index: -1 };
    var gate = net.gated ? waitsFor(net, at, net.remedyGates[plan.first], level) : -1;
    return gate >= 0 ? { kind: CHECK, index: gate } : { kind: REMEDY, index: plan.first };
  }

  function largest(values, count) {
    var found = [];
    for (; count > 0; count--) {
      var best = -Infinity, i;
      for (i = 0; i < values.length; i++) if (values[i] > best) best = values[i];
      if (best === -Infinity) break;
      for (i = 0; values[i] < best - TIE * Math.abs(best); i++);
      found.push(i);
      values[i] = -Infinity;
    }
    return found;
  }

  function candidates(net, at, level) {
    var now = repair(net, at.weight, at, level, Infinity), plan = planned(net, level), mass = sum(at.weight), k, r;
    var gains = new Float64Array(net.K).fill(-Infinity), values = gains.slice(), best = -Infinity;
    for (k = 0; k < net.K; k++) {
      if (!isOpen(net, at, k, level)) continue;
      var cost = minutesOf(net, at, net.checks[k]), saved = (now - repairAfter(net, at, k, level, Infinity)) / mass;
      gains[k] = saved - cost;
      if (gains[k] > best) best = gains[k];
      if (saved / Math.max(cost, TIE) > TIE) values[k] = saved / Math.max(cost, TIE);
    }
    var found = [chosen(net, at, level, plan, gains, best)];
    largest(values, CHECKS_TRIED).forEach(function (i) { found.push({ kind: CHECK, index: i }); });
    var odds = new Float64Array(net.R).fill(-Infinity);
    for (r = 0; r < net.R; r++) {
      var waits = net.remedyGates[r].some(function (needed, g) {
        return needed && !at.spent[g] && net.checks[g].level <= level;
      });
      if (net.remedies[r].level > level || at.used[r] || at.shut[r] || waits) continue;
      var cured = 0;
      net.causesOf[r].forEach(function (c) { cured += at.weight[c]; });
      var value = cured / mass / Math.max(minutesOf(net, at, net.remedies[r]), TIE);
      if (value > 1e-12) odds[r] = value;
    }
    largest(odds, REMEDIES_TRIED).forEach(function (i) { found.push({ kind: REMEDY, index: i }); });
    found.push({ kind: HAND_OVER, index: -1 });
    found.sort(function (a, b) { return a.kind - b.kind || a.index - b.index; });
    return found.filter(function (one, i) {
      return i === 0 || one.kind !== found[i - 1].kind || one.index !== found[i - 1].index;
    });
  }

  /** Return the minutes, times mass, of an action followed by the myopic policy; branches under `light` by repair. */
  function playedOut(net, at, level, action, light) {
    var mass = sum(at.weight);
    if (action.kind === HAND_OVER) return handOver(net, at.weight, at, level, Infinity);
    var following, total;
    if (action.kind === CHECK) {
      total = mass * minutesOf(net, at, net.checks[action.index]);
      following = net.keeps[action.index].map(function (row) { return afterCheck(net, at, action.index, row); });
    } else {
      total = mass * minutesOf(net, at, net.remedies[action.index]);
      following = [afterRemedy(net, at, action.index)];
    }
    following.forEach(function (next) {
      var left = sum(next.weight);
      if (!(left > 1e-15 * mass)) return;
      if (left < light) total += repair(net, next.weight, next, level, Infinity);
      else total += playedOut(net, next, level, myopic(net, next, level), light);
    });
    return total;
  }

  /** Return {kind, index, minutes, expected_minutes} of the best next action. */
  function next(net, state) {
    var cure = curedBy(net, state);
    if (cure !== null) return { kind: KINDS[3], index: cure, minutes: 0, expected_minutes: 0 };
    var at = situation(net, state), mass = sum(at.weight), level = state.level || 0;
    var tried = candidates(net, at, level).map(function (action) {
      return { action: action, minutes: playedOut(net, at, level, action, LIGHT * mass) / mass };
    });
    var least = Math.min.apply(null, tried.map(function (one) { return one.minutes; }));
    var best = tried.find(function (one) { return one.minutes <= least + TIE; }).action;
    var found = { kind: KINDS[best.kind], index: best.index, minutes: 0, expected_minutes: least };
    if (best.kind === HAND_OVER) {
      found.index = level < net.top ? level + 1 : null;
      found.minutes = level < net.top ? net.levels[level + 1].visit_minutes : net.unsolved;
    } else {
      found.minutes = minutesOf(net, at, (best.kind === CHECK ? net.checks : net.remedies)[best.index]);
    }
    return found;
  }

  /** Return for each outcome of a check {outcome, probability, posterior, cures}. */
  function why(net, state, k) {
    var belief = posterior(net, state), check = net.checks[k];
    return check.rows.map(function (row, o) {
      var joint = belief.map(function (p, c) { return p * row[c]; }), odds = sum(joint);
      return {
        outcome: o, probability: odds, cures: check.fixes.length > 0 && check.fixes[o].some(Boolean),
        posterior: odds > 0 ? joint.map(function (p) { return p / odds; }) : belief
      };
    });
  }

  /** Return the expected minutes of the remedies in order and the hand-over, without any further check. */
  function repairMinutes(net, state) {
    var at = situation(net, state);
    return repair(net, at.weight, at, state.level || 0, Infinity);
  }

  globalThis.kbDiagnosis = {
    prepare: prepare, posterior: posterior, curedBy: curedBy, next: next, why: why, repairMinutes: repairMinutes
  };
})();
