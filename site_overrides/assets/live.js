// Only in the preview: loads the page again when its content has been built anew.
(function () {
  "use strict";
  function ask(epoch) {
    var request = new XMLHttpRequest();
    request.onloadend = function () {
      var found = parseInt(this.responseText, 10);
      if (this.status !== 200 || isNaN(found)) {
        setTimeout(function () { ask(epoch); }, 2000);
      } else if (epoch && found > epoch) {
        location.reload();
      } else {
        ask(found);
      }
    };
    request.open("GET", "/livereload/" + epoch + "/" + Date.now());
    request.send();
  }
  ask(0);
})();
