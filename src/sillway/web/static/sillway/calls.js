// What is typed while an answer is on its way is put back after the page has changed. A figure
// chooses among the kinds of chair.
(function () {
  "use strict";
  var sent = {}, typed = {};
  function each(work) {
    document.querySelectorAll("#call input:not([type=hidden]):not([type=radio]), #call textarea").forEach(work);
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
  document.addEventListener("keydown", function (event) {
    if (event.target.type !== "radio" || event.ctrlKey || event.altKey || event.metaKey) { return; }
    var group = event.target.closest(".choices");
    var chosen = group && group.querySelector("[data-key='" + CSS.escape(event.key) + "']");
    if (chosen) { chosen.checked = true; chosen.focus(); event.preventDefault(); }
  });
}());
