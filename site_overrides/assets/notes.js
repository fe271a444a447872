// Notes for the author, kept on this machine only: searches that led nowhere, and what somebody says is wrong. One global, kbNotes.
var kbNotes = (function () {
  "use strict";

  var KIND = "kbtools search notes", QUERIES = "kbtools.search.notes", WRONG = "kbtools.wrong.notes", MOST = 500;

  function stored(name, otherwise) {
    try { return JSON.parse(localStorage.getItem(name)) || otherwise; } catch (unreadable) { return otherwise; }
  }

  // True when it was kept.
  function store(name, value) {
    try { localStorage.setItem(name, JSON.stringify(value)); return true; } catch (full) { return false; }
  }

  function list(name) {
    var kept = stored(name, []);
    return Array.isArray(kept) ? kept : [];
  }

  function add(name, note) { return store(name, list(name).concat([note]).slice(-MOST)); }

  function count() { return list(QUERIES).length + list(WRONG).length; }

  function words() {
    var many = count();
    return many + (many === 1 ? " note" : " notes");
  }

  function revision() {
    var meta = document.querySelector("meta[name=kb-revision]");
    return meta ? meta.content : "";
  }

  // Gives the file to the browser to save.
  function save() {
    var text = JSON.stringify({ kind: KIND, revision: revision(), notes: list(QUERIES), wrong: list(WRONG) }, null, 1);
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = "notes-for-the-author.json";
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  }

  function forget() {
    store(QUERIES, []);
    store(WRONG, []);
  }

  return {
    stored: stored, store: store, count: count, words: words, save: save, forget: forget,
    query: function (note) { return add(QUERIES, note); },
    wrong: function (note) { return add(WRONG, note); },
    undoWrong: function () { return store(WRONG, list(WRONG).slice(0, -1)); }
  };
})();
