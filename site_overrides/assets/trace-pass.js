// How a trace gets to another device: a code to read out, the same or an address as a QR code, and both on a printed call sheet.
var kbTrace = window.kbTrace || {};

(function () {
  "use strict";

  var make = kbTrace.words.make, EASY = 10, FIELD = "“Code of a trace” on the first page of the manual";

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
      make("p", {}, ["Code of this point, to read out. It is typed in under " + FIELD + ":", spelt(code)]),
      make("ul", { class: "sheet-tools" }, [button("code", "Copy the code"), button("qr", "Show as QR code"), button("print", "Print the call sheet")])
    ]);
  }

  // The manual's own address on the web, or "": where this page came from, else what the author gave.
  function base() {
    var given = kbTrace.words.one(".trace").dataset.site, web = /^https?:$/.test(location.protocol);
    if (web && !(given && alone())) { return new URL("..", location.href).href; }
    return given ? given.replace(/\/*$/, "/") : "";
  }

  // Served for this machine only.
  function alone() {
    return /^(localhost|127\.[\d.]+|\[::1\])$/.test(location.hostname);
  }

  // What the QR code holds: {text, says, symbol}. The whole address if a phone reads it easily, else the address with the short code, else the code.
  function held(fragment, code, symptom) {
    var path = "symptoms/" + symptom + ".html", top = base(), full = top + path + "#" + fragment, short = top + "index.html#code=" + code.replace(/-/g, ""), symbol;
    if (!top) { return { text: code, symbol: kbQr.of(code), says: "This copy of the manual has no address on the web, so the QR code holds the short code alone. Scan it, and type or paste it in under " + FIELD + " on the other device." }; }
    symbol = kbQr.of(full);
    if (symbol && symbol.version <= EASY) { return { text: full, symbol: symbol, says: "The QR code holds the whole address of this point." + leads() }; }
    return {
      text: short, symbol: kbQr.of(short),
      says: "The address of this point is too long for a QR code that a phone reads easily. This one holds an address with the short code: every answer, but no figures of readings." + leads()
    };
  }

  function leads() {
    if (/^https?:$/.test(location.protocol) && alone() && !kbTrace.words.one(".trace").dataset.site) {
      return " It leads to this machine (" + location.host + "), where no other device gets: give them the code below.";
    }
    return " Scan it with the phone's camera. A phone that keeps this manual opens it without a network; one that has it as files takes the code below.";
  }

  function drawn(found) {
    return found.symbol ? kbQr.svg(found.symbol, "QR code with " + (found.text.indexOf("/") < 0 ? "the code of this point" : "the address of this point"))
      : make("p", { text: "This address is too long for any QR code. Use the code below." });
  }

  // The panel with the QR code; the focus goes back to what opened it.
  function show(found, code, within) {
    var opener = document.activeElement, close = make("button", { type: "button", text: "Close" }), panel = make("dialog", { class: "qr", "aria-labelledby": "trace-qr" }, [
      make("h3", { id: "trace-qr", text: "QR code of this point" }), drawn(found), make("p", { text: found.says }), make("p", {}, ["Code to read out:", spelt(code)]),
      make("p", { class: "qr-foot" }, [close, make("a", { href: kbTrace.words.one(".stopkey").href, text: "Emergency page" })])
    ]);
    close.addEventListener("click", function () { panel.close(); });
    panel.addEventListener("close", function () {
      panel.remove();
      if (opener && opener.isConnected) { opener.focus(); }
    });
    within.appendChild(panel);
    panel.showModal();
    close.focus({ preventScroll: true });
    panel.scrollTop = 0;
  }

  // The call sheet alone goes to the printer.
  function print(text, found, code) {
    var paper = kbTrace.words.one(".sheet-paper") || document.body.appendChild(make("section", { class: "sheet-paper", "aria-label": "Call sheet for the printer" }));
    function done() {
      document.body.classList.remove("prints-sheet");
      window.removeEventListener("afterprint", done);
    }
    paper.textContent = "";
    [make("h1", { text: "Call sheet" }), make("div", { class: "paper-pass" }, [drawn(found), spelt(code), make("p", { text: found.says })]), make("pre", { text: text })].forEach(function (part) { paper.appendChild(part); });
    document.body.classList.add("prints-sheet");
    window.addEventListener("afterprint", done);
    window.print();
  }

  kbTrace.pass = { block: block, held: held, show: show, print: print };
})();
