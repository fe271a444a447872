// How a trace ends: cured by a check, mended, handed over, or not found while the fault is away.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var words = kbTrace.words, make = kbTrace.words.make, states = kbTrace.state, sheet = kbTrace.sheet, panels = kbTrace.panels;

  function held(ctx, id, hold) {
    return function () {
      return states.answered(ctx.state, Object.assign({}, states.entryOf(ctx.state, "check", id), { hold: hold }));
    };
  }

  function cured(ctx, id) {
    return {
      kind: "Cured by this check?", title: "Does it stay well when it is tried again?",
      body: [make("p", {}, ["After ", make("strong", { text: words.check(id).title }), " the fault is gone. Bring about what the caller complained of once more."])],
      choices: [
        { label: "It stays well", good: true, act: held(ctx, id, ".") },
        { label: "It came back", act: held(ctx, id, "!") }
      ], others: []
    };
  }

  // What the work left behind, to be ticked off.
  function putBack(ctx) {
    var left = sheet.leftBehind(ctx.state, ctx.numbers);
    if (!left.length) { return null; }
    return make("section", { class: "sheet-back" }, [
      make("h4", { text: "Put back" }),
      make("ul", {}, left.map(function (id) {
        var input = make("input", { type: "checkbox", value: id });
        input.checked = ctx.state.back.indexOf(id) >= 0;
        input.addEventListener("change", function () {
          var rest = ctx.state.back.filter(function (one) { return one !== id; });
          ctx.quiet(states.changed(ctx.state, { back: input.checked ? rest.concat([id]) : rest }));
        });
        return make("li", {}, [make("label", {}, [input, make("span", { text: words.state(id) })])]);
      }))
    ]);
  }

  function sheetButtons() {
    return make("ul", { class: "sheet-tools" }, [["copy", "Copy the call sheet"], ["save", "Save one line for learning"]].map(function (one) {
      return make("li", {}, [make("button", { type: "button", "data-do": one[0], text: one[1] })]);
    }));
  }

  function mended(ctx) {
    var cause = sheet.provenCause(ctx.state, ctx.numbers, ctx.engine);
    return {
      kind: "Mended", good: true, title: words.cause(cause), choices: [], others: [],
      body: [make("p", { text: "The fault is gone and the trace is closed." }), putBack(ctx), sheetButtons()]
    };
  }

  function causesToBring(ctx) {
    var shown = sheet.likely(ctx.engine.causes(ctx.state)), parts = sheet.partsToBring(shown, ctx.numbers), top = shown[0].id;
    return [
      make("h4", { text: "Likely causes" }),
      make("ul", {}, shown.map(function (cause) { return make("li", { text: words.cause(cause.id) + ", " + words.percent(cause.p) }); })),
      parts.length ? make("h4", { text: "Bring" }) : null,
      parts.length ? make("ul", {}, parts.map(function (part) { return make("li", { text: part }); })) : null,
      panels.until(top) ? make("h4", { text: "Until then, if it is " + panels.quoted([words.cause(top)]) }) : null,
      panels.until(top)
    ];
  }

  function handOver(ctx) {
    var above = ctx.engine.above(ctx.state.who), done = ctx.state.end === "handed", about = words.one(".trace").dataset, minutes = above ? ctx.engine.visitMinutes(above) : 0;
    var body = [make("p", { text: above ? (minutes ? "There within about " + words.minutes(minutes) + "." : "There at once.") : "No known cause is left that anybody here can mend. Call the support line, " + about.telephone + "." })];
    return {
      kind: done ? "Handed over" : "Hand over", title: above ? words.person(above) : "Support line, " + about.telephone,
      body: body.concat(causesToBring(ctx), [putBack(ctx), kbTrace.pass.block(ctx.code), sheetButtons()]),
      choices: [
        done ? null : { label: "Handed over: end here", act: function () { return states.changed(ctx.state, { end: "handed" }); } },
        above ? { label: words.person(above) + " is here: go on", act: function () { return states.changed(ctx.state, { end: "", who: above, at: "" }); } } : null
      ].filter(Boolean), others: []
    };
  }

  function watch(ctx) {
    var done = ctx.state.end === "watch", open = Object.keys(ctx.numbers.checks).filter(function (id) {
      return ctx.engine.has("check", id) && ctx.numbers.checks[id].away && !states.entryOf(ctx.state, "check", id) && !ctx.engine.lacks(ctx.numbers.checks[id], ctx.state);
    }).slice(0, 5);
    return {
      kind: done ? "Left open" : "While the fault is away", title: "Not found: watch for this", body: [
        make("p", { text: "What is left to ask says something only while the fault is there. When it comes back, look at once:" }),
        make("ul", { class: "watch" }, open.map(function (id) {
          var check = words.check(id);
          return make("li", { text: check.ask || check.title });
        }))
      ].concat(causesToBring(ctx), [putBack(ctx), kbTrace.pass.block(ctx.code), sheetButtons()]),
      choices: [
        { label: "It is there again: go on", act: function () { return kbTrace.thereAgain(ctx.state); } },
        done ? null : { label: "End here and watch", act: function () { return states.changed(ctx.state, { end: "watch" }); } },
        { label: "Hand over", act: function () { return states.changed(ctx.state, { end: "handed" }); } }
      ].filter(Boolean), others: []
    };
  }

  // A symptom that the chosen unit cannot have.
  function otherUnit(heading) {
    return {
      kind: "Not for this unit", title: "This symptom is not for " + kbUnit.words(), body: [make("p", { text: "It applies to: " + heading.dataset.pageWords + "." })],
      choices: [{ label: "Show all units and go on", act: function () { kbUnit.clear(); return null; } }], others: []
    };
  }

  // A remedy that was done while the fault was away did not mend it when the fault is there again.
  kbTrace.thereAgain = function (state) {
    return states.changed(state, {
      away: false, end: "",
      log: state.log.map(function (entry) { return entry.answer === "done" ? { kind: "remedy", id: entry.id, answer: "failed" } : entry; })
    });
  };

  kbTrace.ends = { cured: cured, mended: mended, handOver: handOver, watch: watch, otherUnit: otherUnit };
})();
