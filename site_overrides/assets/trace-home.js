// Unfinished traces on the manual's contents page: go on, or forget.
(function () {
  "use strict";

  var words = kbTrace.words, box = document.getElementById("kb-unfinished");

  function titleOf(symptom) {
    return words.text(words.one("main a[href='symptoms/" + symptom + ".html']"));
  }

  function when(time) {
    var then = new Date(time), today = new Date().toDateString() === then.toDateString();
    return today ? then.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }) : then.toLocaleDateString();
  }

  function row(found) {
    var title = titleOf(found.symptom), button = words.make("button", { type: "button", text: "Forget" });
    button.setAttribute("aria-label", "Forget: " + (title || found.symptom));
    button.addEventListener("click", function () {
      kbTrace.store.forget(found.symptom, found.id);
      show();
      box.querySelector("h2").focus();
    });
    return words.make("li", {}, [
      title ? words.make("a", { href: "symptoms/" + found.symptom + ".html#" + found.fragment, text: title })
        : words.make("span", { text: found.symptom + " (no longer in this manual)" }),
      words.make("span", { class: "nature", text: found.answers + (found.answers === 1 ? " answer, " : " answers, ") + when(found.at) }),
      button
    ]);
  }

  function show() {
    var list = box.querySelector("ul"), found = kbTrace.store.open();
    list.textContent = "";
    found.forEach(function (one) { list.appendChild(row(one)); });
    box.hidden = !found.length;
  }

  if (box) { show(); }
})();
