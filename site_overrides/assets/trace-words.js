// The words of a trace: read from the page itself, so that nothing is written twice.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  function one(query, within) {
    return (within || document).querySelector(query);
  }

  function all(query, within) {
    return Array.prototype.slice.call((within || document).querySelectorAll(query));
  }

  function text(element) {
    return element ? element.textContent.replace(/\s+/g, " ").trim() : "";
  }

  // Builds an element. `attributes` may hold text, class and on-click; children are elements or text.
  function make(tag, attributes, children) {
    var element = document.createElement(tag);
    Object.keys(attributes || {}).forEach(function (name) {
      if (name === "text") { element.textContent = attributes.text; }
      else if (attributes[name] === true) { element.setAttribute(name, ""); }
      else if (attributes[name] !== false && attributes[name] !== null) { element.setAttribute(name, attributes[name]); }
    });
    (children || []).forEach(function (child) {
      if (child) { element.appendChild(typeof child === "string" ? document.createTextNode(child) : child); }
    });
    return element;
  }

  var ADDRESSES = ["id", "data-precaution", "data-hazard", "data-interim", "data-look", "data-part", "data-words"];

  // A copy that nothing is found by: ids and addresses stand once on the page, with the original.
  function copy(element) {
    var copied;
    if (!element) { return null; }
    copied = element.cloneNode(true);
    all("*", copied).concat([copied]).forEach(function (item) {
      ADDRESSES.forEach(function (name) { item.removeAttribute(name); });
    });
    return copied;
  }

  function checkElement(id) {
    return one(".checks > [data-check='" + id + "']");
  }

  function check(id) {
    var element = checkElement(id), reads = one(".reads", element);
    return {
      element: element,
      title: text(one("[data-words='title']", element)),
      ask: text(one("[data-words='ask']", element)),
      unit: reads ? reads.dataset.unit : "",
      reading: text(one("[data-words='reading']", element)),
      outcomes: all("tr[data-outcome]", element).map(outcome)
    };
  }

  function outcome(row) {
    return {
      id: row.dataset.outcome,
      label: text(one("[data-words='label']", row)),
      means: text(one("[data-words='means']", row)),
      normal: row.classList.contains("normal"),
      mark: text(one(".mark", row)),
      then: row.dataset.then || ""
    };
  }

  function outcomeOf(check, id) {
    return check.outcomes.filter(function (found) { return found.id === id; })[0] || { id: id, label: id, means: "", then: "" };
  }

  function cause(id) {
    if (id === "unlisted") { return "Something that is not listed here"; }
    return text(one("tr[data-cause='" + id + "'] th a")) || id;
  }

  function remedyElement(owner) {
    return one("[data-remedy='" + owner + "']");
  }

  function state(id) {
    return text(one(".boxes > [data-state='" + id + "']"));
  }

  function precaution(id) {
    return one("[data-precaution='" + id + "']");
  }

  function person(id) {
    return text(one(".sheet-head input[value='" + id + "'] + span")) || id;
  }

  function tool(id) {
    return text(one(".sheet-has input[value='" + id + "'] + span")) || id;
  }

  function place(id) {
    var title = one("[data-place='" + id + "']");
    return { title: text(title) || id, where: title ? text(title.nextElementSibling) : "" };
  }

  function point(id) {
    return text(one("[data-point='" + id + "']")) || id;
  }

  // The hazards named in a part of the page: one panel for each signal word, most severe first, every hazard with its consequence.
  function hazards(within) {
    var found = {}, seen = {};
    all("li[data-hazard]", within).forEach(function (item) {
      var id = item.dataset.hazard, panel = one(".kb-panel[data-hazard='" + id + "']"), word;
      if (!panel || seen[id]) { return; }
      seen[id] = true;
      word = text(one(".kb-word", panel));
      found[word] = (found[word] || []).concat([panel]);
    });
    return ["DANGER", "WARNING", "CAUTION", "NOTICE"].filter(function (word) { return found[word]; }).map(function (word) {
      return panelOf(word, found[word]);
    });
  }

  function panelOf(word, panels) {
    var titles = panels.map(function (panel) { return text(one(".kb-hazard", panel)); });
    return make("div", { class: "kb-panel kb-group kb-" + word.toLowerCase(), role: "note", "aria-label": word + ": " + titles.join("; ") }, [
      make("p", { class: "kb-band" }, [copy(one(".kb-word", panels[0]))]),
      make("ul", { class: "kb-hazards" }, panels.map(function (panel, index) {
        return make("li", {}, [
          make("strong", { class: "kb-hazard", text: titles[index] + ". " }),
          text(one(".kb-consequence", panel)) + " ",
          one(".kb-avoid", panel) ? make("span", { class: "kb-avoid", text: text(one(".kb-avoid", panel)) }) : null
        ]);
      }))
    ]);
  }

  function percent(probability) {
    if (probability > 0 && probability < 0.01) { return "under 1\u00a0%"; }
    if (probability > 0.99 && probability < 1) { return "over 99\u00a0%"; }
    return Math.round(probability * 100) + "\u00a0%";
  }

  function minutes(number) {
    var whole = Math.ceil(number - 1e-9), hours = Math.floor(whole / 60), rest = whole % 60;
    if (!hours) { return rest + "\u00a0min"; }
    return hours + "\u00a0h" + (rest ? "\u00a0" + rest + "\u00a0min" : "");
  }

  kbTrace.words = {
    one: one, all: all, text: text, make: make, copy: copy, check: check, checkElement: checkElement, outcomeOf: outcomeOf, cause: cause,
    remedyElement: remedyElement, state: state, precaution: precaution, person: person, tool: tool, place: place, point: point,
    hazards: hazards, percent: percent, minutes: minutes
  };
})();
