// The search box of every page: a combobox over kbSearch. Fills #kb-search; loads the index when the box gets the focus.
(function () {
  "use strict";

  var holder = document.getElementById("kb-search");
  if (!holder || !window.kbSearch || !window.kbNotes) return;
  var meta = document.querySelector("meta[name=kb-root]"), root = meta ? meta.content : "";
  var FILTERS = "kbtools.search.filters", LONGEST_NOTE = 300;
  var GROUPS = { symptom: "Symptoms", other: "Causes, checks, parts and test points" };
  var active = -1, options = [], found = null, opened = false, state = "asleep", left = 0;

  // --- what is on the page -----------------------------------------------------------------------------------------------

  function element(tag, attributes, children) {
    var made = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) { made.setAttribute(name, attributes[name]); });
    (children || []).forEach(function (child) { made.append(child); });
    return made;
  }

  var input = element("input", {
    id: "kb-search-words", class: "search-words", type: "text", role: "combobox", autocomplete: "off", autocapitalize: "off",
    spellcheck: "false", enterkeyhint: "go", maxlength: "2000", "aria-autocomplete": "list", "aria-expanded": "false",
    "aria-controls": "kb-search-list", "aria-describedby": "kb-search-status", placeholder: "What is seen, heard or read?"
  });
  var label = element("label", { class: "search-label", for: "kb-search-words" }, [holder.dataset.label || "Find a symptom"]);
  var hint = element("kbd", { class: "search-hint", "aria-hidden": "true" }, ["/"]);
  var system = element("select", { class: "search-filter", "aria-label": "System" });
  var status = element("p", { id: "kb-search-status", class: "search-status", role: "status" });
  var list = element("div", { id: "kb-search-list", class: "search-list", role: "listbox", "aria-label": "Search results" });
  var help = element("div", { class: "search-help" });
  var save = element("button", { type: "button", class: "search-save" });
  var forget = element("button", { type: "button", class: "search-save" }, ["Delete them"]);
  var notesLine = element("p", { class: "search-notes" }, [save, " ", forget]);
  var panel = element("div", { class: "search-panel", tabindex: "0" }, [
    element("div", { class: "search-filters" }, [system]), status, list, help, notesLine
  ]);
  panel.hidden = true;
  holder.append(label, element("div", { class: "search-line" }, [input, hint]), panel);

  // --- loading -----------------------------------------------------------------------------------------------------------

  function wake(then) {
    if (state === "ready") return then();
    if (state === "asleep") {
      state = "loading";
      var missing = 2;
      ["search-data.js", "search-text.js"].forEach(function (name) {
        var script = element("script", { src: root + "assets/" + name });
        script.onload = function () {
          missing -= 1;
          if (missing || state !== "loading") return;
          if (!kbSearch.data) return broken();
          state = "ready";
          fillFilters();
          then();
          setTimeout(kbSearch.warm, 0);
        };
        script.onerror = broken;
        document.head.append(script);
      });
    }
  }

  function broken() {
    state = "broken";
    say("The search index of this manual cannot be read. Look in the list of symptoms instead.");
    open();
  }

  function fillFilters() {
    var kept = kbNotes.stored(FILTERS, {});
    var pairs = kbSearch.data.systems;
    system.append(element("option", { value: "" }, ["All systems"]));
    pairs.forEach(function (pair) { system.append(element("option", { value: pair[0] }, [pair[1]])); });
    system.value = pairs.some(function (pair) { return pair[0] === kept.system; }) ? kept.system : "";
    system.hidden = pairs.length < 2;
  }

  // --- asking ------------------------------------------------------------------------------------------------------------

  // What is for other units is counted, so that the list can say how much it leaves out.
  function wanted(itsSystem, limits) {
    if (system.value && itsSystem !== system.value) return false;
    if (window.kbUnit && !kbUnit.applies(limits)) { left += 1; return false; }
    return true;
  }

  function ask(text) {
    left = 0;
    var typing = /\S$/.test(text);
    var result = kbSearch.ask(text, { typing: typing, wanted: wanted });
    var shorter = text.replace(/\S+$/, "");
    // A word that is just being written must not empty the list.
    if (typing && shorter.trim() && !result.symptoms.length && !result.others.length) {
      left = 0;
      result = kbSearch.ask(shorter, { typing: false, wanted: wanted });
    }
    return result;
  }

  function refresh() {
    if (state !== "ready") return;
    var text = input.value;
    remember(text);
    active = -1;
    options = [];
    list.replaceChildren();
    help.replaceChildren();
    input.removeAttribute("aria-activedescendant");
    if (!text.trim()) { found = null; say(""); close(); return; }
    found = ask(text);
    group("symptom", found.symptoms);
    group("other", found.others);
    say(summary());
    if (!options.length) offer();
    showNotes();
    open();
  }

  function summary() {
    var read = found.query.corrected.map(function (pair) { return pair[0] + " → " + pair[1]; });
    var count = found.symptoms.length, others = found.others.length;
    var said = !options.length ? "Nothing found." :
      (count ? count + (count === 1 ? " symptom" : " symptoms") : "No symptom") + (others ? ", " + others + " more below" : "") + ".";
    var others_ = left ? " " + (left === 1 ? "1 entry for other units is" : left + " entries for other units are") + " left out." : "";
    return strange() + (read.length ? "Read as: " + read.join(", ") + ". " : "") + said + others_;
  }

  // What is said first when the query is most likely about something else.
  function strange() {
    if (!options.length || !found.unknown.length) return "";
    return "Nothing in this manual is about that. It does not know: " + found.unknown.join(", ") + ". Nearest, perhaps not it: ";
  }

  function say(text) { status.textContent = text; }

  function group(kind, hits) {
    if (!hits.length) return;
    var title = element("div", { class: "search-group", id: "kb-search-" + kind }, [(found.unknown.length ? "Perhaps not it: " : "") + GROUPS[kind]]);
    list.append(element("div", { role: "group", "aria-labelledby": title.id }, [title].concat(hits.map(option))));
  }

  function option(hit) {
    var made = element("a", {
      class: "search-option", role: "option", id: "kb-search-option-" + options.length, href: root + hit.page, tabindex: "-1", "aria-selected": "false"
    });
    var kind = hit.kind === "symptom" ? systemTitle(hit.system) : { cause: "Cause", check: "Check", part: "Part", point: "Test point" }[hit.kind];
    made.append(element("span", { class: "search-title" }, marked(hit.title)), " ", element("span", { class: "search-kind" }, [kind]));
    if (hit.outcome) made.append(element("span", { class: "search-phrase" }, ["That reading means: " + hit.outcome]));
    else if (hit.phrase !== hit.title) made.append(element("span", { class: "search-phrase" }, ["“"].concat(marked(hit.phrase), "”")));
    made.addEventListener("click", chosen);
    options.push(made);
    return made;
  }

  function systemTitle(id) {
    var pair = kbSearch.data.systems.find(function (one) { return one[0] === id; });
    return pair ? pair[1] : "";
  }

  function marked(text) {
    var parts = [], at = 0;
    kbSearch.marks(found.query, text).forEach(function (span) {
      if (span[0] > at) parts.push(text.slice(at, span[0]));
      parts.push(element("mark", {}, [text.slice(span[0], span[1])]));
      at = span[1];
    });
    return parts.concat(text.slice(at));
  }

  function offer() {
    var filtered = system.value;
    help.append(element("p", {}, [
      "Try fewer or plainer words: what is seen, heard or read, and which part." + (filtered ? " A filter is set: with all systems there may be more." : "") + " Or look through a system:"
    ]));
    help.append(element("ul", {}, kbSearch.data.systems.map(function (pair) {
      return element("li", {}, [element("a", { href: root + "systems/" + pair[0] + ".html" }, [pair[1]])]);
    })));
  }

  // --- opening, closing, moving ------------------------------------------------------------------------------------------

  function open() {
    panel.hidden = false;
    opened = true;
    input.setAttribute("aria-expanded", String(options.length > 0));
  }

  function close() {
    panel.hidden = true;
    opened = false;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  }

  function move(to) {
    if (!options.length) return;
    if (active >= 0) options[active].setAttribute("aria-selected", "false");
    active = (to + options.length) % options.length;
    options[active].setAttribute("aria-selected", "true");
    options[active].scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", options[active].id);
  }

  function key(event) {
    if (event.isComposing) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (!opened) refresh();
      move(event.key === "ArrowDown" ? active + 1 : active < 0 ? -1 : active - 1);
      event.preventDefault();
    } else if (event.key === "Enter" && options.length && opened) {
      options[Math.max(active, 0)].click();
      event.preventDefault();
    } else if (event.key === "Escape") {
      if (opened) close(); else { leave(); input.value = ""; refresh(); }
      event.preventDefault();
    }
  }

  function slash(event) {
    var at = document.activeElement, writing = at && (/^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName) || at.isContentEditable);
    if (event.key !== "/" || writing || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    input.focus();
    input.select();
  }

  // --- ?q= ---------------------------------------------------------------------------------------------------------------

  function remember(text) {
    try {
      var address = new URL(location.href);
      if (text.trim()) address.searchParams.set("q", text); else address.searchParams.delete("q");
      if (address.href !== location.href) history.replaceState(history.state, "", address.href);
    } catch (refused) { /* an address that cannot be written is no reason not to search */ }
  }

  // --- search notes: queries that led nowhere, kept on this machine only ---------------------------------------------------

  function leave() {
    var query = input.value.trim().slice(0, LONGEST_NOTE);
    if (!found || query.length < 3) return;
    kbNotes.query({ query: query, found: found.symptoms.length });
    found = null;
  }

  function chosen() { found = null; }

  function showNotes() {
    notesLine.hidden = !kbNotes.count();
    save.textContent = "Save " + kbNotes.words() + " for the author";
    save.title = "Searches that led nowhere, and what was said to be wrong. They stay on this machine until you save or delete them.";
  }

  // --- wiring ------------------------------------------------------------------------------------------------------------

  input.addEventListener("focus", function () { wake(refresh); });
  input.addEventListener("input", function () {
    if (!input.value.trim()) found = null;
    if (state === "ready") refresh(); else wake(refresh);
  });
  input.addEventListener("keydown", key);
  system.addEventListener("change", function () {
    store(FILTERS, { system: system.value });
    refresh();
  });
  document.addEventListener("kb-unit", function () { if (opened) refresh(); });
  panel.addEventListener("keydown", function (event) { if (event.key === "Escape") { close(); input.focus(); } });
  document.addEventListener("keydown", slash);
  document.addEventListener("pointerdown", function (event) { if (!holder.contains(event.target)) close(); });
  holder.addEventListener("focusout", function (event) {
    if (event.relatedTarget && !holder.contains(event.relatedTarget)) close();
  });
  addEventListener("pagehide", leave);
  save.addEventListener("click", kbNotes.save);
  forget.addEventListener("click", function () { kbNotes.forget(); showNotes(); });

  var asked = new URLSearchParams(location.search).get("q");
  if (asked && asked.trim()) {
    input.value = asked;
    wake(refresh);
  }
})();
