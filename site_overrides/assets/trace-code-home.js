// The contents page: a short code, or the pasted address of a trace, opens the point of the trace at which it was made.
(function () {
  "use strict";

  var words = kbTrace.words, form = document.getElementById("kb-code"), input, said;

  function begin() {
    if (!form || !kbTrace.code || !kbTrace.heads) { return; }
    input = words.one("input", form);
    said = words.one("[role='alert']", form);
    form.hidden = false;
    if (form.closest("section")) { form.closest("section").hidden = false; }
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      open(input.value);
    });
    fromAddress();
    window.addEventListener("hashchange", fromAddress);
  }

  // index.html#code=… is what a scanned code leads to.
  function fromAddress() {
    var code = kbTrace.code.inFragment(location.hash);
    if (!code) { return; }
    input.value = code;
    open(code);
    if (said.textContent) { input.focus(); }
  }

  // The address of a trace, wherever this manual lies: the page's name and what stands behind it.
  function pasted(text) {
    var found = /symptoms\/([a-z0-9-]+)\.html[^#\s]*#(t=\S*)/.exec(text);
    return found ? { symptom: found[1], fragment: found[2] } : null;
  }

  function open(text) {
    var address = pasted(text), found;
    said.textContent = "";
    if (address) {
      if (kbTrace.heads[address.symptom]) { go(address.symptom, address.fragment); } else { say("This manual has no page “" + address.symptom + "”.", []); }
      return;
    }
    found = kbTrace.code.symptomOf((/[#&]code=([^&\s]*)/.exec(text) || ["", text])[1], kbTrace.heads);
    if (found.wrong) { say(found.wrong, found.maybe); } else { go(found.symptom, "code=" + found.code); }
  }

  function pageOf(symptom) {
    return "symptoms/" + symptom + ".html";
  }

  function go(symptom, fragment) {
    location.href = pageOf(symptom) + "#" + fragment;
  }

  function say(wrong, maybe) {
    said.appendChild(words.make("p", { text: wrong }));
    if (!maybe.length) { return; }
    said.appendChild(words.make("ul", {}, maybe.map(function (symptom) {
      var title = words.text(words.one("main li > a[href='" + pageOf(symptom) + "']"));
      return words.make("li", {}, [words.make("a", { href: pageOf(symptom), text: title || symptom })]);
    })));
  }

  begin();
})();
