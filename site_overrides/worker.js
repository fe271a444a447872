// Keeps the manual on the reader's device, all of it or nothing. The build puts the line self.kbManual in front:
// build, revision, date and files. Without it, as in the preview, the worker takes itself away.
(function () {
  "use strict";

  var manual = self.kbManual, scope = self.registration.scope, prefix = "kb " + scope + " ";
  var name = prefix + (manual && manual.build), AT_ONCE = 8;

  // A redirected answer must not be given to a page load, so its content is kept under the address that was asked for.
  function plain(response) {
    if (!response.redirected) { return response; }
    return response.blob().then(function (body) {
      return new Response(body, { status: response.status, headers: response.headers });
    });
  }

  function fetched(cache, file) {
    var address = new URL(file, scope).href;
    return fetch(address, { cache: "no-cache" }).then(function (response) {
      if (!response.ok) { throw new Error(response.status + " " + address); }
      return plain(response);
    }).then(function (response) { return cache.put(address, response); });
  }

  function keepAll() {
    return caches.open(name).then(function (cache) {
      var next = 0;
      function one() {
        return next < manual.files.length ? fetched(cache, manual.files[next++]).then(one) : undefined;
      }
      return Promise.all(Array.from({ length: AT_ONCE }, one));
    }).catch(function (error) {
      return caches.delete(name).then(function () { throw error; });
    });
  }

  function forgetOthers() {
    return caches.keys().then(function (names) {
      return Promise.all(names.filter(function (other) { return other.indexOf(prefix) === 0 && other !== name; })
        .map(function (other) { return caches.delete(other); }));
    });
  }

  function answer(request) {
    var address = new URL(request.url);
    address.search = address.hash = "";
    if (address.pathname.slice(-1) === "/") { address.pathname += "index.html"; }
    return caches.open(name).then(function (cache) {
      return cache.match(address.href, { ignoreVary: true }).then(function (found) {
        return found || fetch(request).catch(function (error) {
          if (request.mode !== "navigate") { throw error; }
          return cache.match(new URL("404.html", scope).href, { ignoreVary: true });
        });
      });
    });
  }

  if (!manual) {
    self.addEventListener("install", function () { self.skipWaiting(); });
    self.addEventListener("activate", function (event) {
      event.waitUntil(forgetOthers().then(function () { return self.registration.unregister(); }));
    });
    return;
  }
  self.addEventListener("install", function (event) { event.waitUntil(keepAll()); });
  self.addEventListener("activate", function (event) {
    event.waitUntil(forgetOthers().then(function () { return self.clients.claim(); }));
  });
  self.addEventListener("fetch", function (event) {
    if (event.request.method === "GET" && event.request.url.indexOf(scope) === 0) { event.respondWith(answer(event.request)); }
  });
  self.addEventListener("message", function (event) {
    if (event.data === "kb-take") { self.skipWaiting(); }
    if (event.data === "kb-which" && event.ports[0]) { event.ports[0].postMessage(manual.revision + " of " + manual.date); }
  });
})();
