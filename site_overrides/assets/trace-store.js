// Unfinished traces, kept in this browser: one record for each, under a prefix of this manual, with ids and numbers only.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var MOST = 40, OLD = 90 * 24 * 3600 * 1000, PREFIX = "kb-trace ", SETTINGS = "kb-trace-settings ";

  function manual() {
    var root = document.querySelector("meta[name='kb-root']");
    return new URL((root && root.content) || ".", location.href).pathname;
  }

  function attempt(work, otherwise) {
    try { return work(); } catch (error) { return otherwise; }
  }

  function key(symptom, id) {
    return PREFIX + manual() + " " + symptom + " " + id;
  }

  function newId() {
    return Date.now().toString(36) + Math.floor(Math.random() * 1296).toString(36);
  }

  // True when it was kept.
  function keep(symptom, id, fragment, answers) {
    return attempt(function () {
      localStorage.setItem(key(symptom, id), JSON.stringify({ fragment: fragment, answers: answers, at: Date.now() }));
      tidy();
      return true;
    }, false);
  }

  function forget(symptom, id) {
    return attempt(function () { localStorage.removeItem(key(symptom, id)); return true; }, false);
  }

  // Unfinished traces of this manual, newest first: {symptom, id, fragment, answers, at}. Records that do not read are skipped.
  function open(symptom) {
    var start = PREFIX + manual() + " ";
    return attempt(function () {
      return Object.keys(localStorage).filter(function (name) { return name.indexOf(start) === 0; })
        .map(record).filter(function (found) { return found && (!symptom || found.symptom === symptom); })
        .sort(function (a, b) { return b.at - a.at; });
    }, []);
  }

  function record(name) {
    return attempt(function () {
      var rest = name.slice((PREFIX + manual() + " ").length).split(" "), held = JSON.parse(localStorage.getItem(name));
      if (rest.length !== 2 || !/^[a-z0-9-]+$/.test(rest[0]) || typeof held.fragment !== "string" || typeof held.at !== "number") { return null; }
      return { symptom: rest[0], id: rest[1], fragment: held.fragment, answers: Number(held.answers) || 0, at: held.at };
    }, null);
  }

  function tidy() {
    open().forEach(function (found, index) {
      if (index >= MOST || Date.now() - found.at > OLD) { forget(found.symptom, found.id); }
    });
  }

  // The trace that this tab works on, so that a reload finds it whatever the address says.
  function current(symptom, id) {
    return attempt(function () {
      var name = key(symptom, "tab");
      if (id !== undefined) { sessionStorage.setItem(name, id); }
      return sessionStorage.getItem(name) || "";
    }, "");
  }

  function settings(change) {
    return attempt(function () {
      var name = SETTINGS + manual(), held = attempt(function () { return JSON.parse(localStorage.getItem(name)); }, null) || {};
      if (change) {
        held = Object.assign(held, change);
        localStorage.setItem(name, JSON.stringify(held));
      }
      return held;
    }, {});
  }

  kbTrace.store = { newId: newId, keep: keep, forget: forget, open: open, current: current, settings: settings };
})();
