// Rolls the chair along its certified way. Reads #roll-data, moves #roll-plan and #roll-side.
(function () {
  "use strict";
  var store = document.getElementById("roll-data");
  var box = document.getElementById("roll");
  if (!store || !box) { return; }
  var data = JSON.parse(store.textContent);
  var frames = data.frames;
  var planGroup = document.getElementById("roll-plan");
  var sideGroup = document.getElementById("roll-side");
  var layers = sideGroup.querySelectorAll("polygon");
  var slider = document.getElementById("roll-slider");
  var button = document.getElementById("roll-play");
  var shown = document.getElementById("roll-clearance");
  var still = window.matchMedia("(prefers-reduced-motion: reduce)");
  var FRAME_MS = 60, KEY_MS = 1500;
  var playing = false, timer = 0;

  function show(i) {
    var f = frames[i];
    planGroup.setAttribute("transform", "translate(" + f[0] + " " + f[1] + ") rotate(" + f[2] + ")");
    sideGroup.setAttribute("transform", "translate(" + f[3] + " " + f[4] + ") rotate(" + f[5] + ")");
    data.heights.forEach(function (h, k) {
      var a = f[7 + 2 * k], b = f[8 + 2 * k];
      layers[k].setAttribute("points",
        [a + "," + h[0], b + "," + h[0], b + "," + h[1], a + "," + h[1]].join(" "));
    });
    slider.value = String(i);
    slider.setAttribute("aria-valuetext",
      "frame " + (i + 1) + " of " + frames.length + ", at least " + f[6] + " clear");
    shown.textContent = f[6];
  }

  function next(i) {
    if (!still.matches) { return i + 1; }
    // With reduced motion the chair steps from key frame to key frame and nothing glides.
    for (var k = 0; k < data.keys.length; k += 1) {
      if (data.keys[k] > i) { return data.keys[k]; }
    }
    return frames.length;
  }

  function stop() {
    playing = false;
    window.clearTimeout(timer);
    button.textContent = "Play";
  }

  function step() {
    var i = next(Number(slider.value));
    if (i >= frames.length) { stop(); return; }
    show(i);
    timer = window.setTimeout(step, still.matches ? KEY_MS : FRAME_MS);
  }

  function toggle() {
    if (playing) { stop(); return; }
    playing = true;
    button.textContent = "Pause";
    if (Number(slider.value) >= frames.length - 1) { show(0); }
    timer = window.setTimeout(step, still.matches ? KEY_MS : FRAME_MS);
  }

  slider.max = String(frames.length - 1);
  slider.addEventListener("input", function () { stop(); show(Number(slider.value)); });
  button.addEventListener("click", toggle);
  slider.addEventListener("keydown", function (event) {
    if (event.key === " " || event.key === "k") { event.preventDefault(); toggle(); }
  });
  box.hidden = false;
  show(0);
}());
