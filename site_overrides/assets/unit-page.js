// What the chosen unit does to a page: hides what is for other units, says so, and carries the unit along the manual's links.
// It reads data-applies (limits), data-entry (whose), data-page-applies (the page's own entry) and <template data-unit> (what
// stands there instead for a class of units).
(function () {
  "use strict";

  var box = document.getElementById("kb-unit"), AWAY = "data-other-unit";
  if (!box) { return; }

  function one(query, within) { return (within || document).querySelector(query); }
  function all(query, within) { return Array.prototype.slice.call((within || document).querySelectorAll(query)); }

  function make(tag, kind, text) {
    var made = document.createElement(tag);
    made.className = kind;
    made.textContent = text;
    return made;
  }

  // --- the page ---

  function away(item, is) {
    if (is) { item.setAttribute(AWAY, ""); } else { item.removeAttribute(AWAY); }
  }

  // A page whose own entry is for other units stands in full: it says so at the top, and nothing is taken out of it.
  function foreign() {
    var title = one("[data-page-applies]");
    return Boolean(title) && !kbUnit.applies(title.dataset.pageApplies);
  }

  function marked() {
    var names = {}, whole = foreign();
    all("[data-applies]").forEach(function (item) {
      var hidden = !whole && !kbUnit.applies(item.dataset.applies);
      away(item, hidden);
      if (hidden) { item.dataset.entry.split(" ").forEach(function (name) { names[name] = true; }); }
    });
    all(".linklist").forEach(separated);
    all("main ul, main ol, main tbody").forEach(emptied);
    all("[data-count]").forEach(function (item) { recounted(item, whole); });
    return Object.keys(names).length;
  }

  // A separator stands only between two links that are shown; a list without any goes with its row.
  function separated(list) {
    var before = null, shown = 0;
    Array.prototype.forEach.call(list.children, function (item) {
      if (item.className === "sep") { before = item; away(item, true); return; }
      if (item.hasAttribute(AWAY)) { return; }
      if (before && shown) { away(before, false); }
      shown += 1;
    });
    away(list.closest(".named > div, .job > div, tr:not([data-applies]), p, .leads") || list, !shown);
  }

  // How many there are, and nothing to unfold where there is none.
  function recounted(item, whole) {
    var number = item.dataset.count.split("|").filter(function (limits) { return whole || kbUnit.applies(limits); }).length;
    item.textContent = number + " " + (number === 1 ? item.dataset.one : item.dataset.many);
    if (item.parentNode.tagName === "SUMMARY") { away(item.closest("details"), !number); }
  }

  // A list of which nothing is left says so.
  function emptied(list) {
    var items = Array.prototype.filter.call(list.children, function (item) { return item.tagName !== "TEMPLATE"; });
    var gone = items.length > 0 && items.every(function (item) { return item.hasAttribute(AWAY); });
    var outer = list.tagName === "TBODY" ? list.closest("table") : list, note = outer.nextElementSibling;
    if (note && note.classList.contains("unit-none")) { note.remove(); }
    if (gone && !outer.closest("[" + AWAY + "]")) { outer.after(make("p", "unit-none", "Nothing here for " + kbUnit.words() + ".")); }
    away(outer, gone);
  }

  // What a template holds for the unit's class stands in the place of what stands before it for all units.
  function swapped() {
    all("[data-unit-whole]").forEach(function (whole) {
      var templates = [], classes = [], next = whole.nextElementSibling, at, own;
      if (next && next.hasAttribute("data-unit-part")) { next.remove(); next = whole.nextElementSibling; }
      for (; next && next.tagName === "TEMPLATE"; next = next.nextElementSibling) { next.dataset.unit.split(" ").forEach(add(templates, classes, next)); }
      whole.dataset.unitWhole.split(" ").filter(Boolean).forEach(add(templates, classes, null));
      at = foreign() ? -1 : kbUnit.pick(classes);
      own = at >= 0 ? templates[at] : null;
      away(whole, Boolean(own));
      if (own) { whole.after(partOf(own)); }
    });
  }

  function add(templates, classes, template) {
    return function (name) { classes.push(name); templates.push(template); };
  }

  function partOf(template) {
    var part = document.createElement(template.content.querySelector("section, div, ol, p") ? "div" : "span");
    part.setAttribute("data-unit-part", "");
    part.append(template.content.cloneNode(true));
    return part;
  }

  // --- what is said ---

  function count(number) {
    return number === 1 ? "1 entry on this page is left out." : number + " entries on this page are left out.";
  }

  function line(hidden) {
    var unit = kbUnit.words(), strange = kbUnit.strange(), said = one(".unit-said", box);
    said.textContent = "";
    if (unit) { said.append("Shown for ", make("strong", "", unit), " only."); } else { said.append(strange ? strange + " Everything is shown." : "For all units"); }
    one(".unit-left", box).textContent = hidden ? count(hidden) : "";
    one(".unit-clear", box).hidden = !unit;
    one(".unit-choose > summary", box).textContent = unit ? "Other unit" : "Choose the unit";
    box.classList.toggle("is-chosen", Boolean(unit));
    box.classList.toggle("is-strange", Boolean(strange));
    all("[data-type]", box).forEach(function (button) {
      button.setAttribute("aria-pressed", String(Boolean(kbUnit.chosen()) && kbUnit.chosen().serial === null && kbUnit.chosen().type === button.dataset.type));
    });
  }

  function title() {
    var heading = one("[data-page-applies]"), old = one(".unit-other");
    if (old) { old.remove(); }
    if (!heading || !foreign()) { return; }
    old = make("p", "unit-other", "");
    old.append(make("strong", "", "Not for " + kbUnit.words() + "."), " This page applies to: " + heading.dataset.pageWords + ". It stands here in full.");
    heading.after(old);
  }

  function show() {
    var hidden;
    swapped();
    hidden = marked();
    title();
    line(hidden);
    return hidden;
  }

  function changed() {
    var hidden = show();
    one(".unit-status", box).textContent = (one(".unit-said", box).textContent + ".").replace("..", ".") + (hidden ? " " + count(hidden) : "");
  }

  // --- people ---

  var choose = one(".unit-choose", box), words = one("#kb-unit-words"), wrong = one("#kb-unit-wrong");

  function complain(why) {
    wrong.textContent = why;
    if (why) { words.setAttribute("aria-invalid", "true"); } else { words.removeAttribute("aria-invalid"); }
  }

  function take(text) {
    var why = kbUnit.choose(text);
    complain(why);
    if (why) { words.focus(); return; }
    words.value = "";
    choose.open = false;
    one("summary", choose).focus();
  }

  function listen() {
    one("form", box).addEventListener("submit", function (event) {
      event.preventDefault();
      if (words.value.trim()) { take(words.value); } else { complain("Type the serial number, or press a type."); words.focus(); }
    });
    all("[data-type]", box).forEach(function (button) {
      button.addEventListener("click", function () { take(button.dataset.type); });
    });
    one(".unit-clear", box).addEventListener("click", function () {
      complain("");
      kbUnit.clear();
      one("summary", choose).focus();
    });
    box.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && choose.open) { choose.open = false; one("summary", choose).focus(); event.preventDefault(); }
    });
    choose.addEventListener("focusout", function (event) {
      if (event.relatedTarget && !choose.contains(event.relatedTarget)) { choose.open = false; }
    });
    document.addEventListener("pointerdown", function (event) { if (!choose.contains(event.target)) { choose.open = false; } });
    choose.addEventListener("toggle", function () { if (!choose.open) { complain(""); } });
    document.addEventListener("kb-unit", changed);
    ["click", "auxclick", "contextmenu"].forEach(function (kind) { document.addEventListener(kind, carry, true); });
  }

  // Links within the manual take the unit along at the moment when they are followed or copied.
  function carry(event) {
    var link = event.target.closest ? event.target.closest("a[href]") : null, top = one("meta[name='kb-root']"), wanted;
    if (!link || /^#/.test(link.getAttribute("href")) || link.protocol !== location.protocol || link.host !== location.host) { return; }
    if (link.pathname.indexOf(new URL(top.content || ".", location.href).pathname) !== 0 || !/(\.html|\/)$/.test(link.pathname)) { return; }
    wanted = kbUnit.address(link.href);
    if (wanted !== link.href) { link.href = wanted; }
  }

  box.hidden = false;
  show();
  listen();
})();
