// The state of a fault trace: plain objects, changed only by making new ones, and written as the address's fragment.
// A fragment holds ids and numbers only:
//   #t=1&rev=REVISION&who=PERSON&view=desk|hands&safe=1&no=TOOL,TOOL&alone=1&at=PLACE&away=1
//    &given=CHECK=OUTCOME | READING | READING_READING | ? | x   (! behind it: it seemed cured and came back, . it stayed well)
//    &given=remedy:CAUSE=gone | failed | done (not proven) | x   &seen=CHECK (precaution after it done)   &back=STATE   &unit=TYPE | SERIAL   &now=CHECK   &end=handed|watch
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var VERSION = "1", MOST = 400;

  function fresh(who, view) {
    return { who: who, view: view, safe: false, missing: [], alone: false, at: "", away: false, log: [], seen: [], back: [], now: "", end: "" };
  }

  function changed(state, change) {
    return Object.assign({}, state, change);
  }

  function entryOf(state, kind, id) {
    return state.log.filter(function (entry) { return entry.kind === kind && entry.id === id; })[0] || null;
  }

  // An answer replaces an earlier one to the same check in its place; what came after it stays known.
  function answered(state, entry) {
    var old = entryOf(state, entry.kind, entry.id);
    var log = old ? state.log.map(function (one) { return one === old ? entry : one; }) : state.log.concat([entry]);
    return changed(state, { log: log, now: "", end: "", seen: without(state.seen, entry.kind === "check" ? entry.id : "") });
  }

  function forgotten(state, kind, id) {
    return changed(state, {
      log: state.log.filter(function (entry) { return entry.kind !== kind || entry.id !== id; }),
      seen: without(state.seen, id), end: ""
    });
  }

  // Takes back one thing: the end, the check brought forward, else the last answer.
  function undone(state) {
    if (state.end) { return changed(state, { end: "" }); }
    if (state.now) { return changed(state, { now: "" }); }
    var last = state.log[state.log.length - 1];
    if (!last) { return changed(state, { safe: false }); }
    if (last.hold) {
      return changed(state, { log: state.log.slice(0, -1).concat([{ kind: last.kind, id: last.id, answer: last.answer, read: last.read }]) });
    }
    return forgotten(state, last.kind, last.id);
  }

  function without(list, item) {
    return list.filter(function (one) { return one !== item; });
  }

  // What ended the trace: "mended" (a remedy or a check that cured it), "handed", "watch" or "".
  function ended(state) {
    if (state.end) { return state.end; }
    var last = state.log.filter(function (entry) { return entry.answer === "gone" || entry.hold === "."; });
    return last.length ? "mended" : "";
  }

  function asFragment(state, revision) {
    var parts = ["t=" + VERSION, "rev=" + revision, "who=" + state.who, "view=" + state.view];
    if (state.safe) { parts.push("safe=1"); }
    if (state.missing.length) { parts.push("no=" + state.missing.join(",")); }
    if (state.alone) { parts.push("alone=1"); }
    if (state.at) { parts.push("at=" + state.at); }
    if (state.away) { parts.push("away=1"); }
    state.log.forEach(function (entry) {
      var value = entry.read ? entry.read.join("_") : entry.answer;
      parts.push("given=" + (entry.kind === "remedy" ? "remedy:" : "") + entry.id + "=" + value + (entry.hold || ""));
    });
    state.seen.forEach(function (id) { parts.push("seen=" + id); });
    state.back.forEach(function (id) { parts.push("back=" + id); });
    if (state.now) { parts.push("now=" + state.now); }
    if (window.kbUnit && kbUnit.chosen()) { parts.push("unit=" + encodeURIComponent(kbUnit.words())); }
    if (state.end) { parts.push("end=" + state.end); }
    return parts.join("&");
  }

  function pairs(text) {
    return text.replace(/^#/, "").split("&").slice(0, MOST).map(function (part) {
      var at = part.indexOf("="), value = at < 0 ? "" : part.slice(at + 1);
      try { value = decodeURIComponent(value); } catch (error) { /* a stray % is read as it stands */ }
      return [at < 0 ? part : part.slice(0, at), value.slice(0, 200)];
    });
  }

  // A trace, written out or as a short code.
  function isTrace(text) {
    return /^#?(t|code)=/.test(text);
  }

  // Reads a fragment. Never throws: what cannot be used is left out and named in `notes`.
  // Returns {state, notes, older, unit}: older is the other revision, or ""; unit is the one that it was written for, or "".
  function fromFragment(text, numbers, defaults) {
    var state = fresh(defaults.who, defaults.view), notes = [], older = "", unit = "";
    pairs(text).forEach(function (pair) {
      var key = pair[0], value = pair[1];
      if (key === "t" && value !== VERSION) {
        notes.push("This address was written by another release of the manual. What still fits was taken over.");
      } else if (key === "rev" && value !== numbers.revision) {
        older = value;
      } else if (key === "who") {
        state.who = known(value, numbers.people, "person", notes) || state.who;
      } else if (key === "view") {
        state.view = value === "desk" ? "desk" : "hands";
      } else if (key === "no") {
        state.missing = value.split(",").filter(function (tool) { return tool && known(tool, numbers.tools, "tool", notes); });
      } else if (key === "at") {
        state.at = known(value, numbers.places, "place", notes);
      } else if (key === "safe" || key === "alone" || key === "away") {
        state[key] = value === "1";
      } else if (key === "given") {
        state = withGiven(state, value, numbers, notes);
      } else if (key === "seen" && numbers.checks[value]) {
        state.seen = state.seen.concat([value]);
      } else if (key === "back") {
        state.back = state.back.concat([value]);
      } else if (key === "now") {
        state.now = known(value, Object.keys(numbers.checks), "check", notes);
      } else if (key === "unit") {
        unit = value;
      } else if (key === "end") {
        state.end = value === "handed" || value === "watch" ? value : "";
      }
    });
    if (older) {
      notes.unshift("This trace was begun with revision " + shown(older) + " of the manual; this is " + numbers.revision + ". Every answer that still fits was taken over.");
    }
    return { state: state, notes: notes, older: older, unit: unit };
  }

  function withGiven(state, value, numbers, notes) {
    var remedy = /^remedy:/.test(value), text = value.replace(/^remedy:/, "");
    var at = text.indexOf("="), id = text.slice(0, Math.max(at, 0)), given = text.slice(at + 1), entry;
    if (at < 1) {
      notes.push("“" + shown(value) + "” is no answer. It was left out.");
      return state;
    }
    id = known(id, remedy ? Object.keys(numbers.remedies) : Object.keys(numbers.checks), remedy ? "remedy" : "check", notes);
    entry = id && (remedy ? remedyEntry(id, given, notes) : checkEntry(id, given, numbers.checks[id], notes));
    return entry ? keepEnd(state, answered(state, entry)) : state;
  }

  function keepEnd(before, after) {
    return changed(after, { now: before.now, end: before.end, seen: before.seen });
  }

  function remedyEntry(id, given, notes) {
    if (["gone", "failed", "done", "x"].indexOf(given) >= 0) { return { kind: "remedy", id: id, answer: given }; }
    notes.push("“" + shown(given) + "” is no result of a remedy (gone, failed, done or x). It was left out.");
    return null;
  }

  function checkEntry(id, given, check, notes) {
    var hold = /[!.]$/.test(given) ? given.slice(-1) : "", text = hold ? given.slice(0, -1) : given;
    var entry = { kind: "check", id: id, answer: text }, read;
    if (text === "?" || text === "x") { return entry; }
    if (/^[-\u2212]?\d/.test(text) && check.ranges) {
      read = text.split("_").map(Number);
      if (read.length > 2 || !read.every(isFinite)) {
        notes.push("“" + shown(given) + "” is no reading. It was left out.");
        return null;
      }
      entry.read = read;
      entry.answer = kbTrace.reading.outcomeOf(read.length === 2 ? kbTrace.reading.rounded(read[0] - read[1]) : read[0], check);
    } else if (!known(text, check.outcomes, "outcome of that check", notes)) {
      return null;
    }
    if (hold && check.fixed.indexOf(entry.answer) >= 0) { entry.hold = hold; }
    return entry;
  }

  function known(value, list, what, notes) {
    var near;
    if (list.indexOf(value) >= 0) { return value; }
    near = list.map(function (one) { return [distance(value, one), one]; }).sort(function (a, b) { return a[0] - b[0]; })[0];
    notes.push("“" + shown(value) + "” is no " + what + " here" + (near && near[0] <= 3 ? "; the nearest is “" + near[1] + "”" : "") + ". It was left out.");
    return "";
  }

  function shown(text) {
    return text.length > 60 ? text.slice(0, 60) + "…" : text;
  }

  // Levenshtein distance of two short texts.
  function distance(a, b) {
    var row = [], i, j, before, kept;
    for (j = 0; j <= b.length; j += 1) { row.push(j); }
    for (i = 1; i <= a.length; i += 1) {
      before = row[0];
      row[0] = i;
      for (j = 1; j <= b.length; j += 1) {
        kept = row[j];
        row[j] = Math.min(row[j] + 1, row[j - 1] + 1, before + (a[i - 1] === b[j - 1] ? 0 : 1));
        before = kept;
      }
    }
    return row[b.length];
  }

  kbTrace.state = {
    fresh: fresh, changed: changed, answered: answered, forgotten: forgotten, undone: undone, ended: ended, entryOf: entryOf,
    asFragment: asFragment, fromFragment: fromFragment, isTrace: isTrace
  };
})();
