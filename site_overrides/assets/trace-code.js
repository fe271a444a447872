// A trace's answers as a short code that can be read out: symptom, revision, answers, and a last sign that finds mistakes.
// Digits are those of Crockford's base 32 (no I, L, O, U; crockford.com/base32.html); the last one is by the Luhn mod N rule.
// A code holds numbers only; what they stand for is the same in all editions of one revision (see kbtools/site/trace.py).
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ", UNSURE = 30, CANNOT = 31, HELD = { "": 0, "!": 10, ".": 20 };
  var RESULTS = ["gone", "failed", "done"];

  function revisionDigits(revision) {
    return twoDigits(parseInt(revision.slice(0, 3), 16) >> 2);
  }

  function twoDigits(number) {
    return [number >> 5 & 31, number & 31];
  }

  // Luhn mod N with N = 32 over the values before the last one.
  function checkDigit(values) {
    var sum = values.slice().reverse().reduce(function (total, value, index) {
      var doubled = index % 2 ? value : 2 * value;
      return total + (doubled >> 5) + (doubled & 31);
    }, 0);
    return (32 - sum % 32) % 32;
  }

  // Two numbers for one answer; null for one that does not fit, which the code then leaves out.
  function pairOf(entry, table) {
    var list = table.checks.map(function (check) { return check[0]; }), at, answer;
    if (entry.kind === "remedy") {
      at = table.checks.length + table.remedies.indexOf(entry.id);
      answer = entry.answer === "x" ? CANNOT : RESULTS.indexOf(entry.answer);
      return table.remedies.indexOf(entry.id) < 0 || at > 31 || answer < 0 ? null : [at, answer];
    }
    at = list.indexOf(entry.id);
    if (at < 0 || at > 31) { return null; }
    if (entry.answer === "?") { return [at, UNSURE]; }
    if (entry.answer === "x") { return [at, CANNOT]; }
    answer = table.checks[at][1].indexOf(entry.answer);
    return answer < 0 || answer > 9 ? null : [at, answer + HELD[entry.hold || ""]];
  }

  function entryOf(at, value, table) {
    var check = table.checks[at], remedy = table.remedies[at - table.checks.length], hold, outcome;
    if (remedy) { return value === CANNOT ? { kind: "remedy", id: remedy, answer: "x" } : RESULTS[value] ? { kind: "remedy", id: remedy, answer: RESULTS[value] } : null; }
    if (!check) { return null; }
    if (value >= UNSURE) { return { kind: "check", id: check[0], answer: value === UNSURE ? "?" : "x" }; }
    hold = ["", "!", "."][Math.floor(value / 10)];
    outcome = check[1][value % 10];
    return outcome === undefined ? null : { kind: "check", id: check[0], answer: outcome, hold: hold };
  }

  // The code of these answers, in groups of four.
  function written(log, revision, table) {
    var values = twoDigits(table.number).concat(revisionDigits(revision));
    log.forEach(function (entry) { values = values.concat(pairOf(entry, table) || []); });
    return values.concat([checkDigit(values)]).map(function (value) { return DIGITS[value]; }).join("").replace(/(.{4})(?=.)/g, "$1-");
  }

  // What a code says: {symptom, log}, or {wrong}: why it cannot be read.
  function read(text, revision, tables) {
    var clean = text.toUpperCase().replace(/[\s\-–.]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
    var values = clean.split("").map(function (sign) { return DIGITS.indexOf(sign); }), symptom, same, log = [], i, entry;
    if (!clean) { return { wrong: "Type the code that the owner reads out." }; }
    if (values.indexOf(-1) >= 0) { return { wrong: "“" + clean.charAt(values.indexOf(-1)) + "” is no sign of a code." }; }
    if (values.length < 5 || values.length % 2 === 0) { return { wrong: "This code is too short or too long by one sign. Have it read out once more." }; }
    if (checkDigit(values.slice(0, -1)) !== values[values.length - 1]) { return { wrong: "One sign of this code is wrong. Have it read out once more." }; }
    symptom = Object.keys(tables).filter(function (id) { return tables[id].number === values[0] * 32 + values[1]; })[0];
    same = revisionDigits(revision).join() === values.slice(2, 4).join();
    if (!symptom || !same) { return { wrong: "This code is of another revision of the manual. Ask what the page is called and which answers stand there." }; }
    for (i = 4; i < values.length - 1; i += 2) {
      entry = entryOf(values[i], values[i + 1], tables[symptom]);
      if (entry) { log.push(entry); }
    }
    return { symptom: symptom, log: log };
  }

  kbTrace.code = { written: written, read: read };
})();
