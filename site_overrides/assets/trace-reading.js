// Readings as people type them: decimal comma or point, a true minus, a unit behind them or none.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  // SI Brochure, 9th edition, table 7; u stands for µ on keyboards without it.
  var PREFIXES = { "": 1, G: 1e9, M: 1e6, k: 1e3, d: 1e-1, c: 1e-2, m: 1e-3, "µ": 1e-6, "μ": 1e-6, u: 1e-6 };
  var WORDS = { volt: "V", volts: "V", amp: "A", amps: "A", ampere: "A", amperes: "A", ohm: "Ω", ohms: "Ω", deg: "°", degree: "°", degrees: "°", sec: "s", seconds: "s", bars: "bar", stroke: "strokes" };

  function rounded(number) {
    return Math.round(number * 1e9) / 1e9;
  }

  // Number and unit of a typed text, or null when it is no number. Of two kinds of separator the last is the decimal sign; one
  // kind more than once groups digits.
  function split(text) {
    var found = /^\s*([+\-\u2212\u2013]?)\s*(\d[\d.,\s']*|[.,]\d+)([^\d\s.,'].*)?$/.exec(text), digits, signs, cut;
    if (!found) { return null; }
    digits = found[2].replace(/[\s']/g, "");
    signs = digits.replace(/\d/g, "");
    if (signs.length > 1 && !/^\d{1,3}(\.\d{3})*(,\d*)?$|^\d{1,3}(,\d{3})*(\.\d*)?$/.test(digits)) { return null; }
    cut = signs.length === 1 || /^(\.+,|,+\.)$/.test(signs) ? Math.max(digits.lastIndexOf(","), digits.lastIndexOf(".")) : digits.length;
    digits = digits.slice(0, cut).replace(/[.,]/g, "") + "." + digits.slice(cut + 1);
    return { number: Number((found[1] && found[1] !== "+" ? "-" : "") + digits), unit: (found[3] || "").trim() };
  }

  // What to multiply by to come from one unit to another; null when they do not measure the same.
  function factorTo(unit, wanted) {
    var from = parts(WORDS[unit.toLowerCase()] || unit), to = parts(wanted);
    if (!unit || from.whole === to.whole) { return 1; }
    return from.base === to.base && wanted ? from.factor / to.factor : null;
  }

  function parts(unit) {
    var whole = unit.replace("\u2126", "Ω"), found = /^([GMkdcmuµμ])(?=.)/.exec(whole);
    return { whole: whole, base: found ? whole.slice(1) : whole, factor: found ? PREFIXES[found[1]] : 1 };
  }

  // Reads one box. Returns {number} or {wrong: a sentence}; `said` is a sentence about a unit that was converted.
  function typed(text, unit) {
    var found = split(text), factor;
    if (!text.trim()) { return { wrong: "" }; }
    if (!found || !isFinite(found.number)) { return { wrong: "“" + text.trim().slice(0, 30) + "” is no number. Type figures, such as 12,4." }; }
    factor = factorTo(found.unit, unit);
    if (factor === null) {
      return { wrong: "This check reads " + (unit || "a bare number") + ", not “" + found.unit.slice(0, 20) + "”. Set the meter to " + (unit || "the right range") + " and read again." };
    }
    return { number: rounded(found.number * factor), said: factor === 1 ? "" : text.trim() + " is " + said(rounded(found.number * factor), unit) + "." };
  }

  // The outcome whose range (from ≤ reading < below) holds the number.
  function outcomeOf(number, check) {
    return Object.keys(check.ranges).filter(function (id) {
      var range = check.ranges[id];
      return (range[0] === null || number >= range[0]) && (range[1] === null || number < range[1]);
    })[0] || "";
  }

  // A sentence when the number is far from anything this check can show, else "".
  function doubt(number, check, unit) {
    if (number >= check.reason[0] && number <= check.reason[1]) { return ""; }
    if (number < 0 && check.reason[0] === 0) { return said(number, unit) + " is below zero: are the probes the right way round? If it is right all the same, use it once more."; }
    return said(number, unit) + " is far from what this check can show. Look at the meter's range and the decimal sign. If it is right all the same, use it once more.";
  }

  function said(number, unit) {
    var gap = !unit || unit === "°" ? "" : "\u00a0";
    return String(number).replace("-", "\u2212") + gap + unit;
  }

  kbTrace.reading = { typed: typed, outcomeOf: outcomeOf, doubt: doubt, said: said, rounded: rounded };
})();
