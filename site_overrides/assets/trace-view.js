// The panels of a trace: the first question, what follows at once, a check, a remedy.
// A panel is {kind, title, body: elements, choices: [{label, hint, act, good}], others: [{key, label, act}]}; `act` makes the next state.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var words = kbTrace.words, make = kbTrace.words.make, states = kbTrace.state;

  function listed(titles) {
    return titles.length < 2 ? titles.join("") : titles.slice(0, -1).join(", ") + " and " + titles.slice(-1);
  }

  // The question before the first check; the stop key asks the same.
  function gate(ctx) {
    var signs = words.all(".safe .kb-signs > li").map(words.text), first = words.all(".safe > .kb-precaution > .kb-precaution-title").map(words.text);
    var notice = words.one("#what ~ p"), unlike = words.copy(words.one(".unlike")), body = [];
    if (signs.length) { body.push(make("ul", { class: "gate-signs" }, signs.map(function (sign) { return make("li", { text: sign }); }))); }
    if (first.length) {
      body.push(make("p", {}, ["Before anything else: ", make("a", { href: "#safe", text: listed(first) }), "."]));
    }
    if (notice || unlike) {
      body.push(make("details", { class: "gate-sure" }, [
        make("summary", { text: "Is it this symptom?" }), notice ? make("p", { text: words.text(notice) }) : null, unlike
      ]));
    }
    return {
      kind: "First question", title: "Is anybody hurt or trapped? Does anything move by itself, smoke, or spray oil?", body: body,
      choices: [
        { label: first.length ? "No, and what comes before anything else is done" : "No", act: function () { return states.changed(ctx.state, { safe: true }); } },
        { label: "Yes: open the emergency page", urgent: true, act: function () { ctx.emergency(); return null; } }
      ], others: []
    };
  }

  // The precaution that an outcome calls for.
  function atOnce(ctx, entry, id) {
    var seen = ctx.state.seen.concat([entry.id]), element = words.precaution(id), body = element ? words.copy(element) : null, title = element ? words.text(element.querySelector(".kb-precaution-title")) : id;
    if (body) { body.removeChild(body.querySelector(".kb-precaution-title")); }
    return {
      kind: "At once", urgent: true, title: title, body: body ? [body] : [],
      choices: [
        { label: "That is done: go on", act: function () { return states.changed(ctx.state, { seen: seen }); } },
        { label: "That is done: hand over", act: function () { return states.changed(ctx.state, { seen: seen, end: "handed", now: "" }); } }
      ],
      others: []
    };
  }

  function facts(rows) {
    return make("dl", { class: "job" }, rows.filter(function (row) { return row[1]; }).map(function (row) {
      return make("div", {}, [make("dt", { text: row[0] }), make("dd", {}, [row[1]])]);
    }));
  }

  // How a place is found stands there the first time, not again for the next thing at the same place.
  function whereRow(ctx, action) {
    var place = words.place(action.place), last = ctx.state.log.filter(function (entry) { return entry.answer !== "x"; }).slice(-1)[0];
    var there = last && ((last.kind === "check" ? ctx.numbers.checks : ctx.numbers.remedies)[last.id] || {}).place === action.place;
    return make("span", {}, [place.title + (there ? ", as before" : ""), place.where && !there ? make("span", { class: "find", text: place.where }) : null]);
  }

  function elementOf(entry) {
    return entry.kind === "check" ? words.checkElement(entry.id) : words.remedyElement(entry.id);
  }

  // What must hold before the first step. What held for an answer before is named in one line, and opens.
  function needs(ctx, element) {
    var copied = words.copy(words.one(".needs", element)), met = {}, old;
    if (!copied) { return null; }
    ctx.state.log.filter(function (entry) { return entry.answer !== "x" && entry.answer !== "?"; }).forEach(function (entry) {
      words.all(".needs li > a", elementOf(entry)).forEach(function (title) { met[words.text(title)] = true; });
    });
    old = words.all("li", copied).filter(function (item) { return met[words.text(words.one("a", item))]; });
    if (!old.length) { return copied; }
    copied.appendChild(make("details", { class: "still" }, [
      make("summary", {}, [make("strong", { text: "Still so: " }), listed(old.map(function (item) { return words.text(words.one("a", item)); }))]), make("ul", {}, old)
    ]));
    if (!words.one("ul > li", copied.children[1])) {
      copied.removeChild(copied.children[1]);
      copied.removeChild(copied.children[0]);
    }
    return copied;
  }

  function factsOf(ctx, action, element) {
    return facts([
      ["Only after", words.text(words.one("[data-words='only-after'] dd", element))],
      ["Where", whereRow(ctx, action)], ["Tools", listed(action.tools.map(words.tool))], ["Helpers", action.helpers ? String(action.helpers) : ""]
    ]);
  }

  // What is meant for somebody else is marked so: it may be answered when they did it, never begun by this reader.
  function notForThem(ctx, action) {
    var people = ctx.numbers.people;
    if (action.who <= people.indexOf(ctx.state.who)) { return null; }
    return make("p", { class: "not-for-them" }, [make("strong", { text: "Only for: " + words.person(people[action.who]) + ". " }), "Answer it if they have done it. Nobody else begins it."]);
  }

  function quoted(titles) {
    return listed(titles.map(function (title) { return "“" + title.replace(/\.$/, "") + "”"; }));
  }

  // Why this check: what each of its answers would leave.
  function why(ctx, id) {
    var prospects = ctx.engine.prospects(ctx.state, id), check = words.check(id), told = [], lines;
    lines = prospects.filter(function (one) { return one.p >= 0.01; }).map(function (one) {
      var top = one.causes.filter(function (cause, index) { return cause.p >= (index ? 0.2 : 0.05); }).slice(0, 2);
      top.slice(0, 1).forEach(function (cause) { if (cause.id !== "unlisted" && told.indexOf(cause.id) < 0) { told.push(cause.id); } });
      return make("li", {}, [
        make("strong", { text: words.outcomeOf(check, one.id).label }), " (" + words.percent(one.p) + "): ",
        listed(top.map(function (cause) { return words.cause(cause.id) + ", " + words.percent(cause.p); }))
      ]);
    });
    return make("details", { class: "why" }, [
      make("summary", {}, [make("strong", { text: "Why: " }), told.length > 1 ? "its answers tell apart " + quoted(told.map(words.cause)) + "." : told.length ? "it can show whether it is " + quoted(told.map(words.cause)) + "." : "it shows whether any known cause fits."]),
      make("ul", {}, lines)
    ]);
  }

  function steps(element, folded) {
    var list = words.copy(words.one(".steps", element)), count = words.all(".steps > li", element).length;
    if (!folded) { return list; }
    return make("details", { class: "how" }, [make("summary", { text: count === 1 ? "How: 1 step" : "How: " + count + " steps" }), list]);
  }

  function check(ctx, id, minutes) {
    var found = words.check(id), numbers = ctx.numbers.checks[id], desk = ctx.state.view === "desk", old = states.entryOf(ctx.state, "check", id), body = [];
    body.push(notForThem(ctx, numbers));
    if (desk && found.ask) { body.push(make("p", { class: "ask-big", text: found.ask })); }
    body.push(why(ctx, id));
    body = body.concat(words.hazards(found.element));
    body.push(factsOf(ctx, numbers, found.element));
    body.push(needs(ctx, found.element));
    body.push(steps(found.element, desk && found.ask));
    if (numbers.away && !ctx.state.away) { body.push(make("p", { class: "note", text: "Says something only while the fault is there." })); }
    words.all("[data-words='note']", found.element).forEach(function (note) { body.push(words.copy(note)); });
    if (numbers.ranges) { body.push(kbTrace.readingForm(ctx, id, found)); }
    return {
      kind: "Check, about " + words.minutes(minutes), title: found.title, body: body,
      choices: found.outcomes.map(function (outcome) {
        return {
          label: outcome.label, hint: outcome.means, good: outcome.normal, mark: outcome.mark, before: old && old.answer === outcome.id, id: outcome.id,
          act: function () { return states.answered(ctx.state, { kind: "check", id: id, answer: outcome.id }); }
        };
      }),
      others: [
        { key: "?", label: "Not sure", act: function () { return states.answered(ctx.state, { kind: "check", id: id, answer: "?" }); } },
        { key: "x", label: "Cannot do this", act: function () { return states.answered(ctx.state, { kind: "check", id: id, answer: "x" }); } }
      ]
    };
  }

  function remedy(ctx, owner, minutes) {
    var element = words.remedyElement(owner), action = ctx.numbers.remedies[owner], away = ctx.state.away, body = [], mends, best;
    var own = action.causes.filter(function (cause) { return ctx.engine.has("cause", cause); });
    mends = ctx.engine.causes(ctx.state).filter(function (cause) { return action.causes.indexOf(cause.id) >= 0; });
    best = mends.reduce(function (sum, cause) { return sum + cause.p; }, 0);
    body.push(notForThem(ctx, action));
    body.push(make("p", { class: "why-line" }, [make("strong", { text: "Why: " }), words.percent(best) + " likely by what is known; trying it now costs less than asking on."]));
    own.forEach(function (cause) { body.push(words.copy(words.one("[data-look='" + cause + "']"))); });
    body = body.concat(words.hazards(element));
    body.push(factsOf(ctx, action, element));
    [".parts", ".needs", ".steps", ".proof"].forEach(function (part) { body.push(part === ".needs" ? needs(ctx, element) : words.copy(words.one(part, element))); });
    if (away) { body.push(make("p", { class: "note", text: "The fault is not there now, so it cannot be shown that this mended it." })); }
    body.push(until(mends.length ? mends[0].id : owner));
    function result(answer, change) {
      return function () { return Object.assign(states.answered(ctx.state, { kind: "remedy", id: owner, answer: answer }), change || {}); };
    }
    return {
      kind: "Remedy, about " + words.minutes(minutes), title: listed(own.map(words.cause)), body: body,
      choices: away ? [
        { label: "Done: watch whether it comes back", act: result("done", { end: "watch" }) },
        { label: "Not done", act: result("x") }
      ] : [
        { label: "Done and proven: the fault is gone", good: true, act: result("gone") },
        { label: "Done, but the fault is still there", act: result("failed") }
      ],
      others: [{ key: "x", label: "Cannot do this", act: result("x") }]
    };
  }

  // Use and towing until it is mended.
  function until(cause) {
    return words.copy(words.one("[data-interim='" + cause + "']"));
  }

  kbTrace.panels = { gate: gate, atOnce: atOnce, check: check, remedy: remedy, until: until, quoted: quoted };
})();
