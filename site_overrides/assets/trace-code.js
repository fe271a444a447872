// A trace as a short code to read out or type in: the symptom, who, what is at hand, the answers, and two signs that find mistakes.
// Signs are those of Crockford's base 32 (no I, L, O, U; crockford.com/base32.html). What the numbers stand for: kbtools/site/codes.py.
//   head 4 | settings 2 | unit, where one is chosen | place and missing tools, where there are any | each answer | check signs 2
// Not in a code: the figures of a reading (its outcome is), steps seen to, ticks of what was put back.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ", HEAD = 4, SETTINGS = 2, CHECK = 2, PEOPLE = 8, MOST = 200;
  var ENDS = ["", "handed", "watch"], RESULTS = ["gone", "failed", "done", "x"], REMEDY = "remedy:";

  // --- numbers and signs ---

  // How many signs hold `count` different numbers.
  function width(count) {
    var signs = 1;
    while (Math.pow(32, signs) < count) { signs += 1; }
    return signs;
  }

  function digits(number, signs) {
    var found = [];
    for (; signs > 0; signs -= 1) {
      found.unshift(number % 32);
      number = Math.floor(number / 32);
    }
    return found;
  }

  function numberOf(values) {
    return values.reduce(function (sum, value) { return sum * 32 + value; }, 0);
  }

  // Numbers below their counts as one number, and back.
  function packed(pairs) {
    return pairs.reduce(function (sum, pair) { return sum * pair[1] + pair[0]; }, 0);
  }

  function unpacked(number, counts) {
    return counts.slice().reverse().map(function (count) {
      var rest = number % count;
      number = Math.floor(number / count);
      return rest;
    }).reverse();
  }

  // --- check signs ---

  // Twice a number of GF(32), by x^5 + x^2 + 1.
  function twice(value) {
    return (value << 1 ^ (value & 16 ? 37 : 0)) & 31;
  }

  // The rest after division by (x + 1)(x + 2), with 1 before the first sign: a Reed–Solomon code over GF(32).
  // In up to 31 signs any two wrong ones are found, so any swap too; in longer codes any wrong one and any swap of neighbours.
  function remainder(values) {
    return values.reduce(function (rest, value) {
      var out = value ^ rest[0];
      return [rest[1] ^ twice(out) ^ out, twice(out)];
    }, [1, 0]);
  }

  // --- what a code is made of ---

  function items(table) {
    return table.items.map(function (item) {
      return item.indexOf(REMEDY) === 0 ? { kind: "remedy", id: item.slice(REMEDY.length) } : { kind: "check", id: item };
    });
  }

  function options(item, numbers) {
    var check = item.kind === "check" && numbers.checks[item.id], found;
    if (!check) { return item.kind === "remedy" ? RESULTS : []; }
    found = ["?", "x"].concat(check.outcomes);
    check.fixed.forEach(function (id) { found.push(id + "!", id + "."); });
    return found;
  }

  function answerNumber(entry, numbers) {
    var table = numbers.code, list = items(table), at = list.findIndex(function (item) { return item.kind === entry.kind && item.id === entry.id; });
    var option = at < 0 ? -1 : options(list[at], numbers).indexOf(entry.answer + (entry.hold || ""));
    return option < 0 ? null : packed([[at, table.count], [option, table.options]]);
  }

  function entryOf(number, numbers) {
    var table = numbers.code, found = unpacked(number, [table.count, table.options]), item = items(table)[found[0]], answer = item && options(item, numbers)[found[1]], hold;
    if (!answer) { return null; }
    hold = item.kind === "check" && answer.length > 1 && numbers.checks[item.id].outcomes.indexOf(answer) < 0 ? answer.slice(-1) : "";
    return Object.assign({ kind: item.kind, id: item.id, answer: hold ? answer.slice(0, -1) : answer }, hold ? { hold: hold } : {});
  }

  function unitWidth(table) {
    return width(table.types.length * table.serials);
  }

  function unitSigns(unit, table) {
    return digits(packed([[table.types.indexOf(unit.type), table.types.length], [unit.serial === null ? 0 : unit.serial + 1, table.serials]]), unitWidth(table));
  }

  function placeWidth(table) {
    return width(table.places + 1);
  }

  // The place, and a bit for each missing tool.
  function handSigns(state, numbers) {
    var table = numbers.code, bits = [], at;
    for (at = 0; at < table.tools; at += 5) {
      bits.push(numbers.tools.slice(at, at + 5).reduce(function (sum, tool, bit) { return sum + (state.missing.indexOf(tool) >= 0 ? 1 << bit : 0); }, 0));
    }
    return digits(numbers.places.indexOf(state.at) + 1, placeWidth(table)).concat(bits);
  }

  // The code of a trace, in groups of four. `unit` is {type, serial or null}, or null.
  function written(state, numbers, unit) {
    var table = numbers.code, known = Boolean(unit && table.types.indexOf(unit.type) >= 0), hands = Boolean(state.at || state.missing.length);
    var values = table.head.split("").map(function (sign) { return SIGNS.indexOf(sign); }).concat(digits(packed([
      [Math.min(PEOPLE - 1, Math.max(0, numbers.people.indexOf(state.who))), PEOPLE], [state.safe ? 1 : 0, 2], [state.away ? 1 : 0, 2], [state.alone ? 1 : 0, 2],
      [Math.max(0, ENDS.indexOf(state.end)), ENDS.length], [known ? 1 : 0, 2], [hands ? 1 : 0, 2]
    ]), SETTINGS));
    if (known) { values = values.concat(unitSigns(unit, table)); }
    if (hands) { values = values.concat(handSigns(state, numbers)); }
    state.log.forEach(function (entry) {
      var number = answerNumber(entry, numbers);
      if (number !== null) { values = values.concat(digits(number, width(table.count * table.options))); }
    });
    return values.concat(remainder(values)).map(function (value) { return SIGNS[value]; }).join("").replace(/(.{4})(?=.)/g, "$1-");
  }

  // --- reading ---

  // What was typed as {values}, checked for mistakes; or {wrong}: why it is no code.
  function typed(text) {
    var clean = text.toUpperCase().replace(/[\s\-\u2010-\u2015\u2212.,]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1").slice(0, MOST);
    var values = clean.split("").map(function (sign) { return SIGNS.indexOf(sign); });
    if (!clean) { return { wrong: "Type the code first." }; }
    if (values.indexOf(-1) >= 0) { return { wrong: "“" + clean.charAt(values.indexOf(-1)) + "” is no sign of a code." }; }
    if (values.length < HEAD + SETTINGS + CHECK) { return { wrong: "This code is too short. Have it read out once more." }; }
    if (remainder(values).join() !== "0,0") { return { wrong: "A sign of this code is wrong, or one is missing. Have it read out once more." }; }
    return { clean: clean, values: values.slice(0, -CHECK) };
  }

  // Which symptom a code is of. `heads`: symptom → head. {symptom, code}; or {wrong, maybe: symptoms that it may be of}.
  function symptomOf(text, heads) {
    var found = typed(text), head, symptom, maybe;
    if (found.wrong) { return { wrong: found.wrong, maybe: [] }; }
    head = found.clean.slice(0, HEAD);
    symptom = Object.keys(heads).filter(function (id) { return heads[id] === head; })[0];
    if (symptom) { return { symptom: symptom, code: found.clean }; }
    maybe = Object.keys(heads).filter(function (id) { return known(heads[id]) === known(head); });
    return { wrong: "This code is of another revision of the manual" + (maybe.length ? ", in which the checks of this page were others. Open it and ask for the answers:" : ", and its page is not in this one. Ask what the page is called and which answers stand there."), maybe: maybe };
  }

  // The first 8 bits: the symptom, whatever its checks are.
  function known(head) {
    return SIGNS.indexOf(head.charAt(0)) * 8 + (SIGNS.indexOf(head.charAt(1)) >> 2);
  }

  // Everything that a code says about the symptom of these numbers: {state: what changes in a fresh state, unit, left: answers that are not known here}, or {wrong}.
  function read(text, numbers) {
    var found = typed(text), table = numbers.code, values, settings, state, unit = null, each = width(table.count * table.options), log = [], left = 0, entry;
    if (found.wrong) { return found; }
    if (found.clean.slice(0, HEAD) !== table.head) { return { wrong: "This code is of another page, or of another revision of this one. Ask for the answers." }; }
    values = found.values.slice(HEAD + SETTINGS);
    settings = unpacked(numberOf(found.values.slice(HEAD, HEAD + SETTINGS)), [PEOPLE, 2, 2, 2, ENDS.length, 2, 2]);
    state = { who: numbers.people[settings[0]] || numbers.people[0], safe: Boolean(settings[1]), away: Boolean(settings[2]), alone: Boolean(settings[3]), end: ENDS[settings[4]] };
    if (settings[5]) { unit = unitOf(numberOf(values.splice(0, unitWidth(table))), table); }
    if (settings[6]) { Object.assign(state, handsOf(values.splice(0, placeWidth(table) + Math.ceil(table.tools / 5)), numbers)); }
    if (values.length % each) { return { wrong: "This code is too long or too short by a sign. Have it read out once more." }; }
    while (values.length) {
      entry = entryOf(numberOf(values.splice(0, each)), numbers);
      if (entry) { log.push(entry); } else { left += 1; }
    }
    return { state: Object.assign(state, { log: log }), unit: unit, left: left };
  }

  function unitOf(number, table) {
    var found = unpacked(number, [table.types.length, table.serials]);
    return table.types[found[0]] ? { type: table.types[found[0]], serial: found[1] ? found[1] - 1 : null } : null;
  }

  function handsOf(values, numbers) {
    var at = placeWidth(numbers.code), bits = values.slice(at);
    return {
      at: numbers.places[numberOf(values.slice(0, at)) - 1] || "",
      missing: numbers.tools.filter(function (tool, index) { return bits[Math.floor(index / 5)] >> index % 5 & 1; })
    };
  }

  // The code in an address (#code=…), or "".
  function inFragment(text) {
    return (/^#?code=([^&]*)/.exec(text) || ["", ""])[1];
  }

  kbTrace.code = { written: written, read: read, symptomOf: symptomOf, inFragment: inFragment };
})();
