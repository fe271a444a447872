// A typed reading: one box, or two for the difference of two points; the range in which it falls is drawn as it is typed.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var words = kbTrace.words, make = kbTrace.words.make, reading = kbTrace.reading, SVG = "http://www.w3.org/2000/svg";

  function box(id, label, unit, minus) {
    var input = make("input", { id: id, inputmode: minus ? "text" : "decimal", autocomplete: "off", autocapitalize: "off", spellcheck: "false", size: "8", "aria-describedby": "trace-read-says" });
    return { input: input, row: make("p", {}, [make("label", { for: id, text: label }), make("span", { class: "box" }, [input, make("span", { text: unit })])]) };
  }

  // Where a number stands in the drawing: inside its range in proportion, in an open range near the bound.
  function place(number, outcome, check, drawing) {
    var segment = words.all(".seg", drawing)[order(check).indexOf(outcome)], range = check.ranges[outcome], x, width, part;
    if (!segment) { return null; }
    x = Number(segment.getAttribute("x"));
    width = Number(segment.getAttribute("width"));
    if (range[0] !== null && range[1] !== null) { part = (number - range[0]) / (range[1] - range[0]); }
    else if (range[0] !== null) { part = 1 - 1 / (1.25 + Math.abs(number - range[0]) / (Math.abs(range[0]) || 1)); }
    else { part = 1 / (1.25 + Math.abs(range[1] - number) / (Math.abs(range[1]) || 1)); }
    return x + width * Math.min(0.95, Math.max(0.05, part));
  }

  // The drawing names its ranges by the keys that answer here, not by the letters of the table.
  function keyed(drawing, check) {
    words.all(".seg-text", drawing || document.createElement("p")).forEach(function (text, index) {
      text.textContent = text.textContent.replace(/^\S+/, String(check.outcomes.indexOf(order(check)[index]) + 1));
    });
    return drawing;
  }

  function order(check) {
    return Object.keys(check.ranges).sort(function (a, b) {
      var low = check.ranges[a][0], other = check.ranges[b][0];
      return (low === null ? -Infinity : low) - (other === null ? -Infinity : other);
    });
  }

  function mark(drawing, x) {
    var svg = drawing && words.one("svg", drawing), old = svg && words.one(".reading-mark", svg), path;
    if (old) { svg.removeChild(old); }
    if (!svg || x === null) { return; }
    path = document.createElementNS(SVG, "path");
    path.setAttribute("class", "reading-mark");
    path.setAttribute("d", "M" + x + " 30l-6 -12h4v-18h4v18h4z");
    svg.appendChild(path);
  }

  // The form of a check that measures. It names the outcome while the number is typed and takes it on Enter.
  kbTrace.readingForm = function (ctx, id, found) {
    var check = ctx.numbers.checks[id], drawing = keyed(words.copy(words.one(".scale", found.element)), check), says = make("p", { id: "trace-read-says", class: "read-says", "aria-live": "polite" });
    var boxes = check.of ? check.of.map(function (point, index) { return box("trace-read-" + index, words.point(point), found.unit, false); })
      : [box("trace-read-0", found.reading, found.unit, check.reason[0] < 0)];
    var old = kbTrace.state.entryOf(ctx.state, "check", id), form, doubted = "";

    function now() {
      var typed = boxes.map(function (one) { return reading.typed(one.input.value, found.unit); }), wrong = typed.filter(function (one) { return "wrong" in one; })[0], number;
      if (wrong) { return { says: wrong.wrong, empty: !wrong.wrong }; }
      number = typed.length === 2 ? reading.rounded(typed[0].number - typed[1].number) : typed[0].number;
      return { number: number, read: typed.map(function (one) { return one.number; }), outcome: reading.outcomeOf(number, check), said: typed.map(function (one) { return one.said; }).filter(Boolean).join(" ") };
    }

    function tell() {
      var one = now(), chosen = words.all("button[data-outcome]", ctx.sheet);
      chosen.forEach(function (button) { button.classList.toggle("is-read", Boolean(one.outcome) && button.dataset.outcome === one.outcome); });
      mark(drawing, one.outcome ? place(one.number, one.outcome, check, drawing) : null);
      says.textContent = one.outcome ? (one.said ? one.said + " " : "") + (boxes.length === 2 ? "Difference " : "") + reading.said(one.number, found.unit) + ": " + words.outcomeOf(found, one.outcome).label : one.says || "";
      doubted = "";
    }

    function take(event) {
      var one = now(), doubt;
      event.preventDefault();
      if (!one.outcome) {
        says.textContent = one.says || (one.empty ? "Type the reading first." : "That fits no range of this check.");
        return;
      }
      doubt = reading.doubt(one.number, check, found.unit);
      if (doubt && doubted !== String(one.number)) {
        doubted = String(one.number);
        says.textContent = doubt;
        return;
      }
      ctx.go(kbTrace.state.answered(ctx.state, { kind: "check", id: id, answer: one.outcome, read: one.read }));
    }

    form = make("form", { class: "read", novalidate: true }, [
      make("fieldset", {}, [make("legend", { text: check.of ? found.reading : "Reading" })].concat(boxes.map(function (one) { return one.row; }))),
      drawing, says, make("button", { type: "submit", text: "Take this reading" })
    ]);
    boxes.forEach(function (one, index) {
      if (old && old.read && old.read[index] !== undefined) { one.input.value = String(old.read[index]); }
      one.input.addEventListener("input", tell);
    });
    form.addEventListener("submit", take);
    return form;
  };
})();
