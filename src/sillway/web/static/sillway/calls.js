// What is typed while an answer is on its way is put back after the page has changed.
(function () {
  "use strict";
  var sent = {}, typed = {};
  function each(work) {
    document.querySelectorAll("#call input:not([type=hidden]), #call select, #call textarea").forEach(work);
  }
  document.addEventListener("htmx:beforeRequest", function () {
    sent = {};
    each(function (field) { sent[field.id] = field.value; });
  });
  document.addEventListener("htmx:beforeSwap", function () {
    typed = {};
    each(function (field) {
      if (field.id in sent && field.value !== sent[field.id]) { typed[field.id] = field.value; }
    });
  });
  document.addEventListener("htmx:afterSwap", function () {
    Object.keys(typed).forEach(function (id) {
      var field = document.getElementById(id);
      if (field) { field.value = typed[id]; field.focus(); }
    });
    typed = {};
  });
}());
