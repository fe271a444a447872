// The call sheet as plain text, and one line of JSON for learning. Neither holds anything about a person.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var words = kbTrace.words;

  // One answer in words: what was done and what came of it.
  function said(entry, numbers) {
    var check, label;
    if (entry.kind === "remedy") {
      return { title: "Mend: " + remedyTitle(entry.id, numbers), answer: { gone: "Done, the fault is gone", failed: "Done, the fault is still there", done: "Done, not proven while the fault was away", x: "Cannot be done" }[entry.answer] };
    }
    check = words.check(entry.id);
    if (entry.answer === "?") { return { title: check.title, answer: "Not sure" }; }
    if (entry.answer === "x") { return { title: check.title, answer: "Cannot be done" }; }
    label = words.outcomeOf(check, entry.answer).label;
    if (entry.read) {
      label = entry.read.map(function (number) { return kbTrace.reading.said(number, check.unit); }).join(" and ")
        + (entry.read.length === 2 ? ", difference " + kbTrace.reading.said(kbTrace.reading.rounded(entry.read[0] - entry.read[1]), check.unit) : "") + " (" + label + ")";
    }
    return { title: check.title, answer: label + (entry.hold === "!" ? "; it came back" : entry.hold === "." ? "; it stays well" : "") };
  }

  // A title and what stands between it and its answer: no colon after a question mark.
  function titled(title) {
    return title + (/[?!.]$/.test(title) ? " " : ": ");
  }

  // What a remedy mends; with an engine, on the chosen unit.
  function remedyTitle(owner, numbers, engine) {
    return numbers.remedies[owner].causes.filter(function (cause) { return !engine || engine.has("cause", cause); }).map(words.cause).join("; ");
  }

  // States that were left behind by what was done, each once.
  function leftBehind(state, numbers) {
    var found = [];
    state.log.forEach(function (entry) {
      var action = (entry.kind === "check" ? numbers.checks : numbers.remedies)[entry.id];
      if (entry.answer !== "x") {
        action.leaves.forEach(function (left) { if (found.indexOf(left) < 0) { found.push(left); } });
      }
    });
    return found;
  }

  // The cause that was proven, or "": the likeliest of those that the last remedy or check cured.
  function provenCause(state, numbers, engine) {
    var last = state.log.filter(function (entry) { return entry.answer === "gone" || entry.hold === "."; }).slice(-1)[0], among;
    if (!last) { return ""; }
    among = last.kind === "remedy" ? numbers.remedies[last.id].causes : null;
    return (engine.causes(state).filter(function (cause) { return cause.id !== "unlisted" && (!among || among.indexOf(cause.id) >= 0); })[0] || { id: among ? among[0] : "" }).id;
  }

  function partsOf(cause, numbers) {
    var owner = ownerOf(cause, numbers);
    return owner ? numbers.remedies[owner].bring.map(function (part) {
      return words.text(words.one("[data-part='" + part + "']", words.remedyElement(owner)));
    }) : [];
  }

  function ownerOf(cause, numbers) {
    return Object.keys(numbers.remedies).filter(function (owner) { return numbers.remedies[owner].causes.indexOf(cause) >= 0; })[0] || "";
  }

  function interim(cause) {
    return words.all("[data-interim='" + cause + "'] > div").map(function (row) {
      return words.text(row.querySelector("dt")) + ": " + words.text(row.querySelector("dd"));
    });
  }

  function likely(causes) {
    var found = causes.filter(function (cause) { return cause.p >= 0.05; }).slice(0, 4);
    return found.length ? found : causes.slice(0, 1);
  }

  // `address` and `code` lead to this point of the trace.
  function text(state, numbers, engine, address, code) {
    var about = words.one(".trace").dataset, end = kbTrace.state.ended(state), causes = engine.causes(state), proven = provenCause(state, numbers, engine);
    var shown = likely(causes), left = leftBehind(state, numbers), lines = [
      "FAULT TRACE, " + about.manual + ", revision " + numbers.revision,
      "Symptom: " + words.text(words.one("h1")),
      window.kbUnit && kbUnit.chosen() ? "Unit: " + kbUnit.words() : "",
      "At the unit: " + words.person(state.who),
      state.away ? "The fault was not there during the trace." : "",
      state.missing.length ? "Missing: " + state.missing.map(words.tool).join(", ") : "",
      state.alone ? "No helper." : "", "", "Known, in order:"
    ];
    state.log.forEach(function (entry, index) {
      var one = said(entry, numbers);
      lines.push((index + 1) + ". " + titled(one.title) + one.answer + (engine.has(entry.kind, entry.id) ? "" : " (left out: not for this unit)"));
    });
    if (!state.log.length) { lines.push("nothing yet"); }
    lines.push("", "Result: " + resultOf(end, proven, state, engine));
    if (end !== "mended") {
      lines.push("", "Likely causes:");
      shown.forEach(function (cause) { lines.push("- " + words.cause(cause.id) + ", " + words.percent(cause.p).replace(/\u00a0/g, " ")); });
      partsToBring(shown, numbers).forEach(function (part, index) { lines.push((index ? "       " : "Bring: ") + part); });
      shown.filter(function (cause) { return cause.id !== "unlisted"; }).slice(0, 1).forEach(function (cause) {
        interim(cause.id).forEach(function (line) { lines.push(line); });
      });
    }
    if (left.length) {
      lines.push("", "Put back:");
      left.forEach(function (id) { lines.push((state.back.indexOf(id) >= 0 ? "[x] " : "[ ] ") + words.state(id)); });
    }
    lines.push("", "Code: " + code, "This point: " + address);
    return lines.filter(function (line, index) { return line || lines[index - 1]; }).join("\n") + "\n";
  }

  function partsToBring(causes, numbers) {
    var found = [];
    causes.forEach(function (cause) {
      partsOf(cause.id, numbers).forEach(function (part) { if (found.indexOf(part) < 0) { found.push(part); } });
    });
    return found;
  }

  function resultOf(end, proven, state, engine) {
    if (end === "mended") { return "Mended. Cause: " + words.cause(proven); }
    if (end === "watch") { return "Not found; the fault was away. To be watched."; }
    if (end === "handed") {
      return "Handed over to " + (engine.above(state.who) ? words.person(engine.above(state.who)) : words.one(".trace").dataset.telephone);
    }
    return "Open";
  }

  function line(state, numbers, engine) {
    var ends = { mended: "mended", handed: "handed-over", watch: "watch", "": "open" };
    return JSON.stringify({
      revision: numbers.revision, symptom: numbers.symptom, who: state.who, end: ends[kbTrace.state.ended(state)],
      cause: provenCause(state, numbers, engine) || null,
      given: state.log.map(function (entry) {
        return (entry.kind === "remedy" ? "remedy:" : "") + entry.id + "=" + entry.answer;
      })
    });
  }

  kbTrace.sheet = {
    said: said, titled: titled, remedyTitle: remedyTitle, leftBehind: leftBehind, provenCause: provenCause, partsToBring: partsToBring, interim: interim,
    likely: likely, text: text, line: line, ownerOf: ownerOf
  };
})();
