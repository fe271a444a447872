// An owner's page, one step at a time: the checks and remedies of the page, shown singly, with buttons for the answers.
(function () {
  "use strict";

  var words = kbTrace.words, make = words.make, states = kbTrace.state, store = kbTrace.store;
  var root = words.one(".onebyone"), numbers = window.kbTraceNumbers, here = words.one(".callus");
  var engine, state, record = "", stage, tools, said, note = "", noted;

  function begin() {
    if (!root || !numbers || !window.kbDiagnosis) { return; }
    said = make("p", { class: "unseen", role: "status" });
    stage = make("div", { class: "turn now", hidden: true });
    tools = make("ul", { class: "back" });
    noted = make("p", { class: "noted", role: "alert", hidden: true });
    root.insertBefore(noted, words.one(".turn", root));
    root.insertBefore(said, words.one(".turn", root));
    root.insertBefore(stage, words.one(".turn", root));
    root.appendChild(tools);
    words.all("[data-outcome]", root).forEach(answerable);
    root.classList.add("is-live");
    state = taken();
    engine = kbTrace.engineOf(numbers);
    document.addEventListener("kb-unit", function () {
      engine = kbTrace.engineOf(numbers);
      if (state.log.length) { save(); }
      render();
    });
    window.addEventListener("hashchange", function () {
      if (states.isTrace(location.hash) && location.hash !== "#" + fragment()) { record = ""; state = read(location.hash); render(); }
    });
    if (kbTrace.code.inFragment(location.hash)) { save(); }
    render();
  }

  // --- where the state comes from and goes to ---

  function fresh() {
    return states.changed(states.fresh(numbers.people[0], "hands"), { safe: !words.one(".safe") });
  }

  // Answers bring the unit along for which they were given; those of this tab keep to the unit that is chosen now.
  function read(text, ours) {
    var code = kbTrace.code.inFragment(text), found;
    if (code) { return fromCode(code); }
    found = states.fromFragment(text, numbers, { who: numbers.people[0], view: "hands" });
    if (!ours) { kbTrace.takeUnit(found.unit); }
    return found.state;
  }

  // A code from the desk brings the answers that are an owner's; making safe is asked for here once more.
  function fromCode(code) {
    var found = kbTrace.code.read(code, numbers);
    note = found.wrong || (found.left ? "The code holds " + found.left + (found.left === 1 ? " more answer that is" : " more answers that are") + " for us alone. Go on with what stands here." : "");
    if (found.unit && window.kbUnit) { kbTrace.takeUnit(kbUnit.written(found.unit)); }
    return found.wrong ? fresh() : states.changed(fresh(), { log: found.state.log, away: found.state.away });
  }

  function taken() {
    var held = store.open(numbers.symptom), mine = held.filter(function (found) { return found.id === store.current(numbers.symptom); })[0], same;
    if (states.isTrace(location.hash)) {
      same = held.filter(function (found) { return "#" + found.fragment === location.hash; })[0];
      record = same ? same.id : "";
      return read(location.hash);
    }
    if (!mine) { return fresh(); }
    record = mine.id;
    return read(mine.fragment, true);
  }

  function fragment() {
    return states.asFragment(state, numbers.revision);
  }

  function save() {
    history.replaceState(null, "", "#" + fragment());
    record = record || store.newId();
    store.current(numbers.symptom, record);
    if (states.ended(state) || !state.log.length) { store.forget(numbers.symptom, record); } else { store.keep(numbers.symptom, record, fragment(), state.log.length); }
  }

  function go(next) {
    state = next;
    note = "";
    save();
    render();
    arrive();
  }

  // --- one step ---

  function button(label, act, kind) {
    var made = make("button", { type: "button", class: kind || "answer" }, [].concat(label));
    made.addEventListener("click", function () { go(act()); });
    return made;
  }

  // Makes a line of the page's own list of answers a button; the line keeps its words.
  function answerable(item) {
    var check = item.closest("[data-check]").dataset.check, words_ = words.one(".says", item);
    var made = button([], function () { return states.answered(state, { kind: "check", id: check, answer: item.dataset.outcome }); });
    item.insertBefore(made, words_);
    made.appendChild(words_);
  }

  function called() {
    return make("p", { class: "number" }, [make("a", { href: words.one(".number a", here).getAttribute("href"), text: root.dataset.telephone })]);
  }

  function panel(title, body, choices) {
    stage.textContent = "";
    [make("h3", { tabindex: "-1", text: title })].concat(body).forEach(function (part) { if (part) { stage.appendChild(part); } });
    if (choices && choices.length) {
      stage.appendChild(make("ul", { class: "answers" }, choices.map(function (one) { return make("li", {}, [button(one[0], one[1])]); })));
    }
    return stage;
  }

  function gate() {
    return panel("Is everybody safe?", [make("p", { text: "Do the steps under “Make safe first” before you go on. If you see a stop sign from the list there, do not go on." })], [
      ["Yes, it is done. Start.", function () { return states.changed(state, { safe: true }); }]
    ]);
  }

  function cured(id) {
    function held(hold) {
      return function () { return states.answered(state, Object.assign({}, states.entryOf(state, "check", id), { hold: hold })); };
    }
    return panel("It seems to be gone", [make("p", { text: "Try it once more. Is all well now?" })], [["Yes, all is well", held(".")], ["No, it came back", held("!")]]);
  }

  function mended() {
    return panel("All is well", [make("p", { text: "You need not call. If it comes back, open this page again or call us." }), putBack()], []);
  }

  function handOver() {
    return panel("Stop here and call us", [
      make("p", { text: state.log.length ? "The rest is for us. Leave it as it is, keep everybody clear, and read us your answers. They stand below." : "This is for us. Leave it as it is, and keep everybody clear." }),
      called(), putBack()
    ], []);
  }

  function putBack() {
    var left = [];
    state.log.forEach(function (entry) {
      var action = (entry.kind === "check" ? numbers.checks : numbers.remedies)[entry.id];
      if (action && entry.answer !== "x") { left = left.concat(action.leaves); }
    });
    var shown = words.all(".putback [data-state]", root).filter(function (item) { return left.indexOf(item.dataset.state) >= 0; });
    return shown.length ? make("div", { class: "needs" }, [make("p", { text: "At the end:" }), make("ul", {}, shown.map(function (item) { return make("li", { text: words.text(item) }); }))]) : null;
  }

  // What was seen to earlier in this trace is only named again.
  function briefly(article) {
    var seen = {};
    state.log.forEach(function (entry) {
      words.all("[data-once]", articleOf(entry)).forEach(function (item) { seen[item.dataset.once] = entry.answer !== "x" || seen[item.dataset.once]; });
    });
    words.all("[data-once] .how", article).forEach(function (how) { how.hidden = Boolean(seen[how.parentNode.dataset.once]); });
  }

  function articleOf(entry) {
    return words.one("[data-" + entry.kind + "='" + entry.id + "']", root);
  }

  // The buttons that belong to a check or remedy besides its answers; made anew each time it is shown.
  function withOthers(article, list) {
    var old = words.one(".others", article);
    if (old) { old.remove(); }
    briefly(article);
    article.appendChild(make("ul", { class: "answers others" }, list.map(function (one) { return make("li", {}, [button(one[0], one[1], one[2])]); })));
    words.one("h3", article).setAttribute("tabindex", "-1");
    return article;
  }

  function result(kind, id, answer) {
    return function () { return states.answered(state, { kind: kind, id: id, answer: answer }); };
  }

  function check(id) {
    return withOthers(words.one("[data-check='" + id + "']", root), [
      ["I am not sure", result("check", id, "?"), "answer slight"], ["I cannot do this", result("check", id, "x"), "answer slight"]
    ]);
  }

  function remedy(id) {
    return withOthers(words.one("[data-remedy='" + id + "']", root), [
      ["It is gone", result("remedy", id, "gone")], ["It is still there", result("remedy", id, "failed")], ["I cannot do this", result("remedy", id, "x"), "answer slight"]
    ]);
  }

  // A precaution that an answer calls for ends the owner's part.
  function atOnce() {
    var due = state.log.map(function (entry) { return entry.kind === "check" && itemOf(entry); }).filter(function (item) { return item && item.dataset.then; })[0], article;
    if (!due) { return null; }
    article = words.one("[data-follow='" + due.dataset.then + "']", root);
    if (article && !words.one(".number", article)) {
      words.one("h3", article).setAttribute("tabindex", "-1");
      article.appendChild(make("p", { text: "Then call us. Go on with nothing else." }));
      article.appendChild(called());
    }
    return article;
  }

  function itemOf(entry) {
    return words.one("[data-check='" + entry.id + "'] [data-outcome='" + entry.answer + "']", root);
  }

  function turn() {
    var follow = state.safe && atOnce(), next;
    if (kbTrace.foreign()) { return panel("This page is not for your unit", [make("p", { text: "It is for: " + kbTrace.foreign().dataset.pageWords + ". Look for another page, or call us." }), called()], []); }
    if (!state.safe) { return gate(); }
    if (follow) { return follow; }
    if (states.ended(state) === "mended") { return mended(); }
    next = engine.next(state);
    if (next.kind === "done") { return cured(next.id); }
    if (next.kind === "check") { return check(next.id); }
    if (next.kind === "remedy") { return remedy(next.id); }
    return handOver();
  }

  function render() {
    var shown = turn();
    words.all(".turn", root).forEach(function (article) { article.hidden = article !== shown; });
    tools.textContent = "";
    if (state.log.length || state.safe && words.one(".safe")) {
      tools.appendChild(make("li", {}, [button("Back", function () { return states.undone(state); }, "answer slight")]));
    }
    if (state.log.length) { tools.appendChild(make("li", {}, [button("Start again", fresh, "answer slight")])); }
    noted.textContent = note;
    noted.hidden = !note;
    soFar();
  }

  function arrive() {
    var shown = words.one(".turn:not([hidden])", root), title = words.one("h3", shown);
    said.textContent = words.text(title);
    title.focus({ preventScroll: true });
    shown.scrollIntoView({ block: "start" });
  }

  // --- what to tell the desk ---

  function soFar() {
    var box = words.one(".sofar", here), list = words.one(".sofar-list", here), answers = { "?": "not sure", x: "could not do it", gone: "gone", failed: "still there", done: "done" };
    list.textContent = "";
    state.log.forEach(function (entry) {
      var title = words.text(words.one("h3", articleOf(entry))), item = entry.kind === "check" && itemOf(entry);
      list.appendChild(make("li", {}, [title + (/[?.!]$/.test(title) ? " " : ": "), make("strong", { text: item ? words.text(words.one(".says", item)) : answers[entry.answer] }), engine.has(entry.kind, entry.id) ? null : " (not for your unit)"]));
    });
    words.one(".code", box).textContent = kbTrace.code.written(state, numbers, window.kbUnit ? kbUnit.chosen() : null);
    box.hidden = !state.log.length;
  }

  begin();
})();
