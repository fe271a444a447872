// "Wrong?" below each list of steps: a note for the author with the line of YAML, kept by notes.js.
// The list says where it is written: data-wrong="check/rod-mark|12|14 15|18 19|FILE" (lines of the entry, its steps, its outcomes).
(function () {
  "use strict";

  var LISTS = "ol[data-wrong]", DRAFT = "kbtools.wrong.draft", LONGEST = 300, SHORTEST = 3;

  function element(tag, attributes, children) {
    var made = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) { made.setAttribute(name, attributes[name]); });
    (children || []).forEach(function (child) { made.append(child); });
    return made;
  }

  function text(found) { return found ? found.textContent.replace(/\s+/g, " ").trim() : ""; }

  function all(query, within) { return Array.from((within || document).querySelectorAll(query)); }

  // --- what can be wrong ---

  function written(list) {
    var parts = list.dataset.wrong.split("|"), numbers = function (part) { return part ? part.split(" ").map(Number) : []; };
    return { entry: parts[0], line: Number(parts[1]), steps: numbers(parts[2]), outcomes: numbers(parts[3]), file: parts.slice(4).join("|") };
  }

  // Words of a step alone, without its warnings, its tools and their links.
  function stepWords(item) {
    var copy = item.cloneNode(true);
    all(".embedded, .kb-panels, .with, .kb-with", copy).forEach(function (part) { part.remove(); });
    return text(copy);
  }

  // The place on the page that also holds the outcomes: the trace copies only the steps.
  function home(list) {
    var same = all(LISTS).filter(function (other) { return other.dataset.wrong === list.dataset.wrong && !other.closest(".sheet"); })[0] || list;
    return same.closest("[data-check], [data-remedy], [data-precaution], section");
  }

  // Parts that can be said to be wrong: {part, line, words, label}.
  function partsOf(list) {
    var at = written(list), kind = at.entry.split("/")[0], found, rows = kind === "check" ? all("tr[data-outcome]", home(list)) : [];
    found = [{ part: "whole", line: at.line, words: "", label: kind === "check" ? "The whole check" : kind === "cause" ? "The whole remedy" : "All of it" }];
    Array.from(list.children).forEach(function (item, index) {
      var words = stepWords(item);
      if (at.steps[index]) { found.push({ part: "step " + (index + 1), line: at.steps[index], words: words, label: "Step " + (index + 1) + ": " + words }); }
    });
    rows.forEach(function (row, index) {
      var words = text(row.querySelector("[data-words='label']"));
      if (at.outcomes[index]) { found.push({ part: "outcome " + row.dataset.outcome, line: at.outcomes[index], words: words, label: "Answer: " + words }); }
    });
    return found;
  }

  // --- the form ---

  function offer(list) {
    var button = element("button", { type: "button", class: "wrong-open" }, ["Wrong?"]), status = element("p", { class: "wrong-said", role: "status" });
    var box = element("div", { class: "wrong" }, [button, status]), draft = kbNotes.stored(DRAFT, {});
    list.after(box);
    button.setAttribute("aria-label", "Say what is wrong in: " + titleOf(list));
    button.addEventListener("click", function () { open(list, box, null); });
    if (draft.entry === written(list).entry && draft.page === location.pathname && !document.querySelector(".wrong-form")) { open(list, box, draft); }
  }

  function titleOf(list) {
    var within = list.closest(".sheet-action") || home(list), title = within && within.querySelector("h2, h3, .kb-precaution-title");
    return text(title) || "these steps";
  }

  function open(list, box, draft) {
    var parts = partsOf(list), at = written(list), select, area, form, where, button = box.querySelector(".wrong-open"), ids = "wrong-" + Math.random().toString(36).slice(2);
    close();
    select = element("select", { id: ids + "-part" }, parts.map(function (one, index) { return element("option", { value: index }, [one.label]); }));
    area = element("textarea", { id: ids + "-said", rows: "3", maxlength: LONGEST, required: "", minlength: SHORTEST });
    where = element("p", { class: "wrong-where" });
    form = element("form", { class: "wrong-form" }, [
      element("p", {}, [element("label", { for: select.id }, ["What is wrong"]), select]),
      element("p", {}, [element("label", { for: area.id }, ["What is right instead, or what was seen"]), area]),
      where,
      element("p", {}, [element("button", { type: "submit" }, ["Keep this note"]), " ", element("button", { type: "button", class: "wrong-leave" }, ["Leave it"])])
    ]);
    if (draft) {
      select.value = String(Math.max(0, parts.map(function (one) { return one.part; }).indexOf(draft.part)));
      area.value = String(draft.said || "").slice(0, LONGEST);
    } else if (parts.length > 1) { select.value = "1"; }
    function place() {
      where.textContent = "Kept on this machine with its line, " + at.file + ":" + parts[select.value].line + ", until you save the notes for the author.";
      kbNotes.store(DRAFT, { entry: at.entry, page: location.pathname, part: parts[select.value].part, said: area.value });
    }
    select.addEventListener("change", place);
    area.addEventListener("input", place);
    form.addEventListener("submit", function (event) { event.preventDefault(); keep(at, parts[select.value], area.value, box); });
    form.addEventListener("keydown", function (event) { if (event.key === "Escape") { event.stopPropagation(); leave(); } });
    form.querySelector(".wrong-leave").addEventListener("click", leave);
    function leave() { close(); button.focus(); }
    button.hidden = true;
    box.insertBefore(form, box.lastChild);
    place();
    if (!draft) { select.focus(); }
  }

  // There is one open form at most.
  function close() {
    all(".wrong-form").forEach(function (form) {
      form.parentElement.querySelector(".wrong-open").hidden = false;
      form.remove();
    });
    try { localStorage.removeItem(DRAFT); } catch (refused) { /* nothing was kept then */ }
  }

  function keep(at, part, said, box) {
    var status = box.querySelector(".wrong-said"), kept, note;
    said = said.trim();
    if (said.length < SHORTEST) { status.textContent = "Say in a few words what is right instead."; return; }
    note = { entry: at.entry, part: part.part, file: at.file, line: part.line, words: part.words, said: said };
    kept = kbNotes.wrong(note);
    if (!kept) { status.textContent = "This browser keeps nothing, so the note cannot stay. Tell the author: " + at.file + ":" + part.line; return; }
    close();
    status.replaceChildren("Kept. On this machine: " + kbNotes.words() + ".", action("Save for the author", kbNotes.save), action("Take this one back", function () {
      kbNotes.undoWrong();
      status.textContent = "Taken back.";
      box.querySelector(".wrong-open").focus();
    }));
    box.querySelector(".wrong-open").focus();
  }

  function action(label, act) {
    var made = element("button", { type: "button" }, [label]);
    made.addEventListener("click", act);
    return made;
  }

  // --- wherever there are steps, those that the trace copies too ---

  function offerAll(within) {
    all(LISTS, within).forEach(function (list) {
      if (!list.nextElementSibling || !list.nextElementSibling.classList.contains("wrong")) { offer(list); }
    });
  }

  if (!window.kbNotes) { return; }
  offerAll(document);
  all(".sheet-action").forEach(function (panel) {
    new MutationObserver(function () { offerAll(panel); }).observe(panel, { childList: true, subtree: true });
  });
})();
