// Runs the trace of a symptom's page: state in, panel out; keys, address, storage and announcements.
(function () {
  "use strict";

  var words = kbTrace.words, make = words.make, states = kbTrace.state, store = kbTrace.store, panels = kbTrace.panels, ends = kbTrace.ends;
  var root = words.one(".trace"), numbers = window.kbTraceNumbers, one = function (query) { return words.one(query, root); };
  var state, engine, panel, record = "", past = [], notes = [], kept = true, wasSafe = null;

  function begin() {
    if (!root || !numbers || !window.kbDiagnosis) { return; }
    state = taken();
    engine = kbTrace.engineOf(numbers);
    if (record && state.log.length) { store.keep(numbers.symptom, record, fragment(), state.log.length); }
    one(".trace-plain").hidden = true;
    one(".sheet").hidden = false;
    words.one(".stopkey").hidden = false;
    document.body.classList.add("has-stopkey");
    one("input[name='keys']").checked = store.settings().keys !== false;
    listKnown();
    listen();
    if (kbTrace.code.inFragment(location.hash)) { save(); }
    render();
  }

  // --- where the state comes from and goes to ---

  // Whoever calls is taken for the lowest person until it is said otherwise; whoever works here stays who they were.
  function defaults() {
    var held = store.settings(), usual = numbers.people.indexOf("technician") >= 0 ? "technician" : numbers.people[0];
    if (held.view === "desk") { return { who: numbers.people[0], view: "desk" }; }
    return { who: numbers.people.indexOf(held.who) >= 0 ? held.who : usual, view: "hands" };
  }

  // From the address, else from what this tab worked on before, else new.
  function taken() {
    var held = store.open(numbers.symptom), mine = held.filter(function (found) { return found.id === store.current(numbers.symptom); })[0], same;
    if (states.isTrace(location.hash)) {
      same = held.filter(function (found) { return "#" + found.fragment === location.hash; })[0];
      record = same ? same.id : "";
      return read(location.hash);
    }
    if (mine) {
      record = mine.id;
      return read(mine.fragment, true);
    }
    offer(held[0]);
    return states.fresh(defaults().who, defaults().view);
  }

  // A trace brings its unit along; one that this tab worked on keeps to the unit that is chosen now.
  function read(fragment, ours) {
    var code = kbTrace.code.inFragment(fragment), found = code ? fromCode(code) : states.fromFragment(fragment, numbers, defaults()), why = ours ? "" : kbTrace.takeUnit(found.unit);
    notes = why ? found.notes.concat([why]) : found.notes;
    return found.state;
  }

  // Whoever reads out an owner's code is on the telephone.
  function fromCode(code) {
    var found = kbTrace.code.read(code, numbers), start = states.fresh(defaults().who, defaults().view), state;
    if (found.wrong) { return { state: start, notes: [found.wrong] }; }
    state = states.changed(start, found.state);
    return { state: state.who === numbers.people[0] ? states.changed(state, { view: "desk" }) : state, notes: [], unit: found.unit && window.kbUnit ? kbUnit.written(found.unit) : "" };
  }

  // Another unit: the answers stay, the numbers are its own.
  function otherUnit() {
    engine = kbTrace.engineOf(numbers);
    if (state.now && !engine.has("check", state.now)) { state = states.changed(state, { now: "" }); }
    if (state.safe || state.log.length) { save(); }
    render();
  }

  function offer(found) {
    if (!found) { return; }
    notes = [make("span", {}, ["An unfinished trace of this symptom is kept here (" + found.answers + (found.answers === 1 ? " answer" : " answers") + "). ",
      button("Go on with it", function () { record = found.id; past = []; move(read(found.fragment)); }),
      " ", button("Forget it", function () { store.forget(found.symptom, found.id); notes = []; render(); })])];
  }

  function fragment() {
    return states.asFragment(state, numbers.revision);
  }

  function save() {
    var answers = state.log.length, ended = states.ended(state);
    history.replaceState(null, "", "#" + fragment());
    record = record || store.newId();
    store.current(numbers.symptom, record);
    if (ended) { store.forget(numbers.symptom, record); } else if (answers) { kept = store.keep(numbers.symptom, record, fragment(), answers); }
    else { store.forget(numbers.symptom, record); }
  }

  // --- moving from state to state ---

  function go(next) {
    if (!next) { return; }
    past.push(state);
    notes = [];
    move(next);
  }

  function move(next) {
    state = next;
    save();
    render();
    arrive();
  }

  // A change that leaves the panel as it is.
  function quiet(next) {
    state = next;
    save();
    sheetText();
  }

  function undo() {
    if (!past.length && !state.log.length && !state.safe && !state.end) { return; }
    notes = [];
    move(past.length ? past.pop() : states.undone(state));
  }

  function anew() {
    if (state.log.length && !states.ended(state) && !window.confirm("Begin anew? The answers of this trace are then gone.")) { return; }
    store.forget(numbers.symptom, record);
    record = "";
    past = [];
    notes = [];
    move(states.fresh(state.who, state.view));
  }

  // --- what stands on the sheet ---

  function context() {
    return {
      state: state, numbers: numbers, engine: engine, code: code(), go: go, quiet: quiet, sheet: root,
      emergency: function () { location.href = words.one(".stopkey").href; }
    };
  }

  function pending() {
    return state.log.filter(function (entry) {
      return entry.kind === "check" && state.seen.indexOf(entry.id) < 0 && words.outcomeOf(words.check(entry.id), entry.answer).then;
    })[0];
  }

  function panelNow(ctx, next) {
    var due = pending(), end = states.ended(state);
    if (kbTrace.foreign()) { return ends.otherUnit(kbTrace.foreign()); }
    if (!state.safe) { return panels.gate(ctx); }
    if (due) { return panels.atOnce(ctx, due, words.outcomeOf(words.check(due.id), due.answer).then); }
    if (state.now) { return panels.check(ctx, state.now, engine.minutesOf("check", state.now)); }
    if (end === "mended") { return ends.mended(ctx); }
    if (end === "watch") { return ends.watch(ctx); }
    if (end === "handed") { return ends.handOver(ctx); }
    if (next.kind === "done") { return ends.cured(ctx, next.id); }
    if (next.kind === "check") { return panels.check(ctx, next.id, next.minutes); }
    if (next.kind === "remedy") { return panels.remedy(ctx, next.id, next.minutes); }
    return state.away ? ends.watch(ctx) : ends.handOver(ctx);
  }

  // Should a panel ever fail, the procedure on paper takes over.
  function render() {
    try { draw(); } catch (error) {
      one(".sheet").hidden = true;
      one(".trace-plain").hidden = false;
      one(".trace-plain").firstChild.textContent = "The trace cannot go on here. ";
      throw error;
    }
  }

  function draw() {
    var ctx = context(), next = engine.next(state), head = one(".sheet-head");
    if (wasSafe !== state.safe) { head.open = !state.safe && !window.matchMedia("(max-width: 40rem)").matches; }
    wasSafe = state.safe;
    panel = panelNow(ctx, next);
    show(panel);
    showNotes();
    showCauses(next);
    showAnswers();
    showSettings();
    sheetText();
    kbTrace.shown = next;
  }

  function show(panel) {
    var box = one(".sheet-action"), children = [
      make("p", {}, [make("span", { class: "kind", text: panel.kind })]),
      make("h3", { id: "trace-title", tabindex: "-1", text: panel.title })
    ].concat(panel.body.filter(Boolean));
    if (panel.choices.length) {
      children.push(make("ul", { class: "choices", "aria-label": "Answers" }, panel.choices.map(choice)));
    }
    if (panel.others.length) {
      children.push(make("ul", { class: "sheet-tools others" }, panel.others.map(function (other) {
        return make("li", {}, [button([other.label, make("kbd", { text: other.key })], function () { go(other.act()); }, "other")]);
      })));
    }
    box.textContent = "";
    box.appendChild(make("section", { class: "action" + (panel.urgent ? " is-urgent" : "") + (panel.good ? " is-good" : ""), "aria-labelledby": "trace-title" }, children));
  }

  function choice(found, index) {
    var made = button([
      make("span", { class: "letter", "aria-hidden": "true", text: index < 9 ? String(index + 1) : "–" }),
      make("span", { class: "says" }, [
        make("strong", { text: found.label }), found.mark ? make("span", { class: "mark", text: found.mark }) : null,
        found.before ? make("span", { class: "mark", text: "your answer before" }) : null, found.hint ? make("span", { class: "hint", text: found.hint }) : null
      ])
    ], function () { go(found.act()); }, "choice" + (found.good ? " normal" : "") + (found.urgent ? " urgent" : ""));
    if (found.id) { made.dataset.outcome = found.id; }
    return make("li", {}, [made]);
  }

  function button(children, act, kind) {
    var made = make("button", { type: "button", class: kind || "small" }, [].concat(children));
    made.addEventListener("click", act);
    return made;
  }

  function showNotes() {
    var box = one(".sheet-notes"), all = notes.slice(), odd, doubt = engine.unlisted(state);
    if (!kept) { all.push("This browser keeps nothing here (storage is full or blocked). The address holds the whole trace: copy it to go on later."); }
    if (doubt >= 0.3 && state.log.some(function (entry) { return entry.kind === "check" && entry.answer !== "?" && entry.answer !== "x"; })) {
      odd = engine.oddOne(state);
      all.push(make("span", {}, ["These answers together fit none of the listed causes well (something not listed: " + words.percent(doubt) + "). "].concat(odd ? [
        "The one that fits least: " + words.check(odd.id).title + " ", button("Look again", function () { go(states.changed(state, { now: odd.id, end: "" })); })
      ] : [])));
    }
    if (out().length) { all.push("Left out, not for " + kbUnit.words() + ": " + out().map(function (entry) { return kbTrace.sheet.said(entry, numbers).title; }).join("; ")); }
    box.textContent = "";
    all.forEach(function (note) { box.appendChild(make("p", {}, [note])); });
    box.hidden = !all.length;
  }

  // Answers to what is not for the chosen unit: they stay, and nothing is concluded from them.
  function out() {
    return state.log.filter(function (entry) { return !engine.has(entry.kind, entry.id); });
  }

  // On a narrow screen the likeliest only, the others at a press; none once it is mended.
  function showCauses(next) {
    var list = one(".sheet-causes"), causes = engine.causes(state);
    words.all(".sheet-likely, .sheet-has, .sheet-known", root).forEach(function (part) { part.hidden = states.ended(state) === "mended"; });
    one("[data-do='all-causes']").textContent = root.classList.contains("is-all") ? "Only the likeliest" : "All " + causes.length + " causes";
    one(".sheet-all").hidden = causes.length <= 3;
    list.textContent = "";
    causes.forEach(function (cause) {
      var owner = kbTrace.sheet.ownerOf(cause.id, numbers), title = words.cause(cause.id);
      list.appendChild(make("li", { class: cause.id === "unlisted" ? "unlisted" + (cause.p >= 0.2 ? " is-leading" : "") : cause.p < 0.01 ? "slight" : "" }, [
        make("span", { class: "share", text: cause.p === 0 ? "not it" : words.percent(cause.p) }),
        owner ? make("a", { href: "#remedy-" + owner, text: title }) : make("span", { text: title }),
        bar(cause.p)
      ]));
    });
    one(".sheet-minutes").textContent = states.ended(state) || next.kind === "done" ? "" : "About " + words.minutes(next.expected) + " until fixed, on average.";
  }

  function bar(p) {
    var svg = words.copy(words.one(".causes .bar"));
    words.one(".bar-fill", svg).setAttribute("width", (p * 100).toFixed(1));
    return svg;
  }

  function showAnswers() {
    var list = one(".sheet-answers ol");
    list.textContent = "";
    state.log.forEach(function (entry) {
      var said = kbTrace.sheet.said(entry, numbers), change;
      change = entry.kind === "check" ? button("Change", function () { go(states.changed(state, { now: entry.id, end: "", safe: true })); }) : button("Take out", function () { go(states.forgotten(state, "remedy", entry.id)); });
      change.setAttribute("aria-label", change.textContent + ": " + said.title);
      list.appendChild(make("li", {}, [make("span", {}, [kbTrace.sheet.titled(said.title), make("strong", { text: said.answer }), engine.has(entry.kind, entry.id) ? null : " (left out: not for this unit)"]), change]));
    });
    one(".sheet-answers .none").hidden = state.log.length > 0;
  }

  function listKnown() {
    Object.keys(numbers.checks).forEach(function (id) {
      var made = button(words.check(id).title, function () { go(states.changed(state, { now: id, end: "" })); });
      one(".known-checks").appendChild(make("li", { "data-id": id }, [made, make("span", { class: "nature" })]));
    });
    Object.keys(numbers.remedies).forEach(function (owner) {
      var input = make("input", { type: "checkbox", value: owner });
      input.addEventListener("change", function () {
        go(input.checked ? states.answered(state, { kind: "remedy", id: owner, answer: "failed" }) : states.forgotten(state, "remedy", owner));
      });
      one(".known-remedies").appendChild(make("li", {}, [make("label", {}, [input, make("span", { text: kbTrace.sheet.remedyTitle(owner, numbers) })])]));
    });
  }

  function showSettings() {
    words.all("input[name='who'], input[name='view']", root).forEach(function (input) { input.checked = state[input.name] === input.value; });
    words.all("input[name='tool']", root).forEach(function (input) { input.checked = state.missing.indexOf(input.value) < 0; });
    one("input[name='helper']").checked = !state.alone;
    one("select[name='at']").value = state.at;
    words.all(".known-checks > li", root).forEach(function (item) {
      var entry = states.entryOf(state, "check", item.dataset.id);
      item.hidden = !engine.has("check", item.dataset.id);
      words.one(".nature", item).textContent = entry ? kbTrace.sheet.said(entry, numbers).answer : "";
    });
    words.all(".known-remedies input", root).forEach(function (input) {
      var entry = states.entryOf(state, "remedy", input.value);
      input.checked = Boolean(entry && entry.answer === "failed");
      input.closest("li").hidden = !engine.has("remedy", input.value);
      input.nextElementSibling.textContent = kbTrace.sheet.remedyTitle(input.value, numbers, engine);
    });
    one("[data-do='away']").setAttribute("aria-pressed", String(state.away));
    words.all("[data-do='away'], [data-do='hand-over']", root).forEach(function (made) { made.parentElement.hidden = states.ended(state) === "mended"; });
    one("[data-do='undo']").disabled = !past.length && !state.log.length && !state.safe && !state.end;
    root.classList.toggle("is-desk", state.view === "desk");
    root.classList.toggle("is-untouched", untouched() && !past.length);
    one(".sheet-head > summary").textContent = words.person(state.who) + " at the unit, shown for " + words.text(one("input[name='view'][value='" + state.view + "'] + span"));
  }

  // --- the call sheet ---

  function address() {
    return (/^https?:$/.test(location.protocol) ? location.href.split("#")[0] : "symptoms/" + numbers.symptom + ".html") + "#" + fragment();
  }

  function code() {
    return kbTrace.code.written(state, numbers, window.kbUnit ? kbUnit.chosen() : null);
  }

  function sheetText() {
    one("#trace-call").value = kbTrace.sheet.text(state, numbers, engine, address(), code());
    one(".sheet-pass").textContent = "";
    one(".sheet-pass").appendChild(kbTrace.pass.block(code()));
  }

  function copy(text, what) {
    function done() { announce(what + " copied."); }
    function byHand() {
      var area = one("#trace-call"), before = area.value, worked;
      one(".sheet-call").open = true;
      area.value = text;
      area.select();
      worked = document.execCommand("copy");
      area.value = before;
      if (worked) { done(); } else { announce("Copying is blocked here. Mark the text and copy it by hand."); }
    }
    if (navigator.clipboard) { navigator.clipboard.writeText(text).then(done, byHand); } else { byHand(); }
  }

  function saveLine() {
    var link = make("a", { href: URL.createObjectURL(new Blob([kbTrace.sheet.line(state, numbers, engine) + "\n"], { type: "application/json" })), download: "call-" + numbers.symptom + ".jsonl" });
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
    announce("One line saved.");
  }

  // --- people ---

  function allCauses() {
    one("[data-do='all-causes']").setAttribute("aria-expanded", String(root.classList.toggle("is-all")));
    showCauses(engine.next(state));
  }

  var doings = {
    "all-causes": allCauses,
    undo: undo, anew: anew, save: saveLine,
    away: function () { go(state.away ? kbTrace.thereAgain(state) : states.changed(state, { away: true })); },
    "hand-over": function () { go(states.changed(state, { end: "handed", now: "", safe: true })); },
    copy: function () { copy(one("#trace-call").value, "Call sheet"); },
    link: function () { copy(address(), "Address"); },
    code: function () { copy(code(), "Code"); },
    qr: function () { kbTrace.pass.show(kbTrace.pass.held(fragment(), code(), numbers.symptom), code(), one(".sheet")); },
    print: function () { kbTrace.pass.print(one("#trace-call").value, kbTrace.pass.held(fragment(), code(), numbers.symptom), code()); }
  };

  function listen() {
    root.addEventListener("click", function (event) {
      var pressed = event.target.closest("[data-do]");
      if (pressed) { doings[pressed.dataset.do](); }
    });
    root.addEventListener("change", changed);
    words.all(".sheet-head form, .sheet-has form", root).forEach(function (form) {
      form.addEventListener("submit", function (event) { event.preventDefault(); });
    });
    document.addEventListener("keydown", pressed);
    document.addEventListener("kb-unit", otherUnit);
    window.addEventListener("hashchange", function () {
      if (states.isTrace(location.hash) && location.hash !== "#" + fragment()) {
        record = "";
        past = [];
        move(read(location.hash));
      }
    });
  }

  function changed(event) {
    var input = event.target, tools;
    if (input.name === "keys") { store.settings({ keys: input.checked }); return; }
    if (input.name === "who" || input.name === "view") {
      if (input.name === "view" || state.view === "hands") { store.settings(input.name === "who" ? { who: input.value } : { view: input.value }); }
      settle(input.name === "who" ? { who: input.value } : untouched() ? { view: input.value, who: defaults().who } : { view: input.value });
    } else if (input.name === "tool") {
      tools = words.all("input[name='tool']", root).filter(function (one) { return !one.checked; }).map(function (one) { return one.value; });
      settle({ missing: tools });
    } else if (input.name === "helper") { settle({ alone: !input.checked }); } else if (input.name === "at") { settle({ at: input.value }); }
  }

  function untouched() {
    return !state.safe && !state.log.length;
  }

  // A setting changes what comes next; the focus stays where it is.
  function settle(change) {
    past.push(state);
    state = states.changed(state, change);
    save();
    render();
    announce("Now: " + panel.title);
  }

  function typing(target) {
    return Boolean(target.closest && target.closest("input:not([type='radio']):not([type='checkbox']), textarea, select, [contenteditable]"));
  }

  function pressed(event) {
    var other, number = /^[1-9]$/.test(event.key) ? Number(event.key) : 0;
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || typing(event.target) || !one("input[name='keys']").checked) { return; }
    if (event.key === "!") { location.href = words.one(".stopkey").href; return; }
    if (words.one("dialog[open]")) { return; }
    if (event.key === "u") { event.preventDefault(); undo(); return; }
    other = panel.others.filter(function (found) { return found.key === event.key; })[0];
    if (other) { event.preventDefault(); go(other.act()); return; }
    if (number && panel.choices[number - 1]) { event.preventDefault(); go(panel.choices[number - 1].act()); }
  }

  function announce(text) {
    one(".sheet-status").textContent = "";
    one(".sheet-status").textContent = text;
  }

  // After a move: say it, and put the focus on the new panel's title.
  function arrive() {
    var title = one("#trace-title"), top = engine.causes(state)[0], box = one(".sheet-action").getBoundingClientRect();
    announce(panel.kind + ": " + panel.title.replace(/[.?!]?$/, function (end) { return end || "."; }) + (states.ended(state) === "mended" ? "" : " Likeliest now: " + words.cause(top.id) + ", " + words.percent(top.p) + "."));
    title.focus({ preventScroll: true });
    if (box.top < 0 || box.top > window.innerHeight / 2) { one(".sheet-action").scrollIntoView({ block: "start" }); }
  }

  begin();
})();
