// From a server: keeps the manual on this device, and offers a newer one. It is taken only when the reader says so.
(function () {
  "use strict";

  var workers = navigator.serviceWorker, root = document.querySelector("meta[name='kb-root']");
  if (!/^https?:$/.test(location.protocol) || !workers || !root) { return; }
  var asked = false;

  function offer(worker) {
    var box = document.querySelector("#kb-newer .newer"), channel = new MessageChannel();
    channel.port1.onmessage = function (event) {
      box.querySelector(".newer-revision").textContent = event.data;
      box.hidden = false;
    };
    box.querySelector("button").onclick = function () {
      asked = true;
      worker.postMessage("kb-take");
    };
    worker.postMessage("kb-which", [channel.port2]);
  }

  function stored() {
    var note = document.getElementById("kb-stored");
    if (note) { note.hidden = false; }
  }

  function watch(worker) {
    worker.addEventListener("statechange", function () {
      if (worker.state === "installed" && workers.controller) { offer(worker); }
      if (worker.state === "activated") { stored(); }
    });
  }

  workers.addEventListener("controllerchange", function () {
    if (asked) { location.reload(); }
  });
  workers.register(new URL(root.content + "worker.js", location.href).href).then(function (registration) {
    if (registration.active) { stored(); }
    if (registration.installing) { watch(registration.installing); }
    if (registration.waiting && workers.controller) { offer(registration.waiting); }
    registration.addEventListener("updatefound", function () { watch(registration.installing); });
  }).catch(function () { /* a browser that keeps nothing reads from the server */ });
})();
