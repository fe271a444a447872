// How a trace gets to another device: its code to read out.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var make = kbTrace.words.make;

  // A code as it is read out; a screen reader spells it sign by sign.
  function spelt(code) {
    return make("span", { class: "code" }, [
      make("span", { "aria-hidden": "true" }, code.split("-").map(function (group) { return make("span", { class: "code-group", text: group }); })),
      make("span", { class: "unseen", text: code.split("-").map(function (group) { return group.split("").join(" "); }).join(", ") })
    ]);
  }

  function button(doing, label) {
    return make("li", {}, [make("button", { type: "button", "data-do": doing, text: label })]);
  }

  // The code with what can be done with it.
  function block(code) {
    return make("div", { class: "pass" }, [
      make("p", {}, ["Code of this point, to read out. It is typed in on the first page of the manual: ", spelt(code)]),
      make("ul", { class: "sheet-tools" }, [button("code", "Copy the code")])
    ]);
  }

  kbTrace.pass = { block: block, spelt: spelt };
})();
