// What is folded away opens for an address within it, and all of it on paper. Newer browsers do both by themselves.
(function () {
  "use strict";

  var opened = [];

  function reveal() {
    var name = decodeURIComponent(location.hash.slice(1)), target = name && name.indexOf("=") < 0 ? document.getElementById(name) : null, fold = target, shut = 0;
    while (fold) {
      fold = fold.parentElement && fold.parentElement.closest("details");
      if (fold && !fold.open) { fold.open = true; shut += 1; }
    }
    if (shut) { target.scrollIntoView(); }
  }

  function attempt() {
    try { reveal(); } catch (malformed) { return; }
  }

  window.addEventListener("hashchange", attempt);
  document.addEventListener("click", function (event) {
    var link = event.target.closest ? event.target.closest("a[href^='#']") : null;
    if (link && link.getAttribute("href") === location.hash) { setTimeout(attempt); }
  });
  window.addEventListener("beforeprint", function () {
    opened = Array.prototype.filter.call(document.querySelectorAll("main details"), function (fold) { return !fold.open && !fold.closest(".trace"); });
    opened.forEach(function (fold) { fold.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (fold) { fold.open = false; });
    opened = [];
  });
  // Where there is room, what a desk reads at a glance stands open from the beginning.
  if (window.matchMedia("(min-width: 60rem)").matches) {
    Array.prototype.forEach.call(document.querySelectorAll("details[data-wide]"), function (fold) { fold.open = true; });
  }
  attempt();
})();
