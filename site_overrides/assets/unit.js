// The unit that a reader has before them (type or serial number): one global, kbUnit, the rules and messages of kbtools/applies.py.
// It stands in the address as ?unit=, which wins over what this browser kept; every change is told by the event kb-unit on document.
var kbUnit = (function () {
  "use strict";

  var KEPT = "kbtools.unit", QUERY = "unit", SHOWN = 60, DASHES = /[-\u2010-\u2015\u2212]/g;
  var box = document.getElementById("kb-unit"), known = box ? JSON.parse(box.dataset.units) : { types: [] }, now = null, strange = "";

  // --- what a text names ---

  function plain(text) { return text.replace(/\s+/g, "").toLowerCase(); }
  function bare(text) { return plain(text).replace(DASHES, ""); }

  function short(text) {
    var signs = Array.from(text.trim().replace(/\s+/g, " "));
    return signs.length > SHOWN ? signs.slice(0, SHOWN).join("") + "…" : signs.join("");
  }

  // {unit: {type, serial}} or {wrong: why}.
  function read(text) {
    var typed = plain(text), whole, marked, found;
    whole = known.types.filter(function (type) { return typed === plain(type[0]) || typed === plain(type[1]); })[0];
    if (whole) { return { unit: { type: whole[0], serial: null } }; }
    marked = known.types.filter(function (type) { return type[2]; });
    found = marked.slice().sort(function (a, b) { return b[2].length - a[2].length; }).filter(function (type) {
      return bare(type[2]) && bare(typed).indexOf(bare(type[2])) === 0;
    })[0];
    if (found) { return serialOf(found, short(text), bare(typed).slice(bare(found[2]).length)); }
    return {
      wrong: "“" + short(text) + "” is no unit of this manual. There is: " + known.types.map(function (type) { return type[1]; }).join(", ")
        + serials(marked) + "."
    };
  }

  // " or 5 digits after W4- or W6-": types of as many digits together.
  function serials(marked) {
    var counts = marked.map(function (type) { return type[3]; });
    return counts.filter(function (count, index) { return counts.indexOf(count) === index; }).map(function (count) {
      return " or " + digitsOf(count) + " after " + marked.filter(function (type) { return type[3] === count; }).map(function (type) { return type[2]; }).join(" or ");
    }).join("");
  }

  function digitsOf(count) { return count + (count === 1 ? " digit" : " digits"); }

  function serialOf(type, text, digits) {
    if (!/^[0-9]+$/.test(digits)) {
      return { wrong: "“" + text + "” is no serial number: after " + type[2] + (type[3] === 1 ? " stands " : " stand ") + digitsOf(type[3]) + " and nothing else." };
    }
    if (digits.length !== type[3]) {
      return { wrong: "“" + text + "” has " + digitsOf(digits.length) + " after " + type[2] + "; a serial number has " + type[3] + "." };
    }
    return { unit: { type: type[0], serial: Number(digits) } };
  }

  // --- what is about it ---

  // `limits` as kbtools/applies.py writes them: "w4 w6:20500-"; ranges are half-open.
  function about(limits, unit) {
    return !unit || !limits || limits.split(" ").some(function (limit) {
      var parts = /^([^:]+)(?::(\d*)-(\d*))?$/.exec(limit);
      if (!parts || parts[1] !== unit.type) { return false; }
      return unit.serial === null || (!parts[2] || unit.serial >= Number(parts[2])) && (!parts[3] || unit.serial < Number(parts[3]));
    });
  }

  // Of classes of units (one limit each) the one to which the unit belongs: its range, else its type as a whole; -1 for none.
  function pick(classes, unit) {
    var own = classes.filter(function (one) { return Boolean(unit) && (unit.serial !== null || one.indexOf(":") < 0) && about(one, unit); });
    return classes.indexOf(own.filter(function (one) { return one.indexOf(":") >= 0; })[0] || own[0]);
  }

  function words(unit) {
    var type = unit && known.types.filter(function (one) { return one[0] === unit.type; })[0];
    if (!type) { return ""; }
    return unit.serial === null ? type[1] : type[2] + String(unit.serial).padStart(type[3], "0");
  }

  // --- where it is kept ---

  function attempt(work, otherwise) {
    try { return work(); } catch (refused) { return otherwise; }
  }

  // An address with the unit as its query; without one when all units are shown.
  function address(href) {
    var made = new URL(href, location.href);
    if (now) { made.searchParams.set(QUERY, words(now)); } else { made.searchParams.delete(QUERY); }
    return made.href;
  }

  function keep() {
    attempt(function () { if (now) { localStorage.setItem(KEPT, words(now)); } else { localStorage.removeItem(KEPT); } });
    attempt(function () { if (address(location.href) !== location.href) { history.replaceState(history.state, "", address(location.href)); } });
  }

  function begin() {
    var asked = attempt(function () { return new URLSearchParams(location.search).get(QUERY); }, null), found;
    if (asked && asked.trim()) {
      found = read(asked);
      if (found.unit) { now = found.unit; keep(); } else { strange = found.wrong; }
      return;
    }
    found = read(attempt(function () { return localStorage.getItem(KEPT); }, "") || "");
    if (found.unit) { now = found.unit; keep(); }
  }

  function set(unit) {
    now = unit;
    strange = "";
    keep();
    document.dispatchEvent(new CustomEvent("kb-unit", { detail: now }));
  }

  // Takes a type or serial number; returns why not, or "".
  function choose(text) {
    var found = read(text);
    if (found.unit) { set(found.unit); }
    return found.wrong || "";
  }

  // A unit that this manual does not know, from an address: everything is shown, and it is said.
  function refuse(why) {
    now = null;
    strange = why;
    document.dispatchEvent(new CustomEvent("kb-unit", { detail: null }));
  }

  if (box) { begin(); }

  return {
    chosen: function () { return now && { type: now.type, serial: now.serial }; },
    applies: function (limits) { return about(limits, now); },
    pick: function (classes) { return pick(classes, now); },
    words: function () { return words(now); },
    strange: function () { return strange; },
    address: address, choose: choose, clear: function () { set(null); }, refuse: refuse, read: read,
    about: about, pickFor: pick, written: words
  };
})();
