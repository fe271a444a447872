// Says on the contents page that the manual is old, by the reader's own clock.
(function () {
  "use strict";
  var line = document.getElementById("kb-age"), day = 24 * 3600 * 1000;
  if (line && Date.now() - Date.parse(line.dataset.date) > Number(line.dataset.days) * day) { line.hidden = false; }
})();
