// The contents page: an owner's short code opens the point of the trace at which it was made.
(function () {
  "use strict";

  var form = document.getElementById("kb-code");
  if (!form || !kbTrace.code || !kbTrace.codes) { return; }
  form.hidden = false;
  form.addEventListener("submit", function (event) {
    var found = kbTrace.code.read(form.querySelector("input").value, form.dataset.revision, kbTrace.codes), given;
    event.preventDefault();
    form.querySelector("[role='alert']").textContent = found.wrong || "";
    if (found.wrong) { return; }
    given = found.log.map(function (entry) {
      return "&given=" + (entry.kind === "remedy" ? "remedy:" : "") + entry.id + "=" + entry.answer + (entry.hold || "");
    });
    location.href = "symptoms/" + found.symptom + ".html#t=1&rev=" + form.dataset.revision + "&who=" + form.dataset.owner + "&view=desk&safe=1" + given.join("");
  });
})();
