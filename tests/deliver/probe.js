// Looks at the page as a keyboard or a screen reader would, and tells what it finds.
(function () {
  "use strict";
  var found = { errors: [], unnamed: [], doubled_ids: [], dead_links: [], skipped_headings: [], low_contrast: [] };
  window.addEventListener("error", function (event) { found.errors.push(String(event.message)); });
  function all(selector) { return Array.prototype.slice.call(document.querySelectorAll(selector)); }

  var zones = all("a.zone");
  found.zones = zones.length;
  found.zones_by_keyboard = zones.filter(function (zone) { zone.focus(); return document.activeElement === zone; }).length;
  zones[0].focus();
  found.said = document.querySelector(".card:not([hidden])").textContent;
  found.cards = all(".card:not([hidden])").length;
  found.scrolled = window.scrollY;
  // A field may be one zone.
  (zones[1] || zones[0]).dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true }));
  found.clicked = document.querySelector(".card:not([hidden])").id;
  found.scrolled_by_click = window.scrollY - found.scrolled;
  all("details").forEach(function (fold) { fold.open = true; });
  var core = document.querySelector(".points circle");
  core.dispatchEvent(new MouseEvent("click", { bubbles: true }));
  found.core_said = core.closest("figure").querySelector(".say").textContent;

  all("a,[role=img],[role=group],nav,section,article,table").forEach(function (element) {
    var named = element.getAttribute("aria-label") || element.getAttribute("aria-labelledby") || element.textContent.trim();
    if (!named) found.unnamed.push(element.outerHTML.slice(0, 80));
  });
  var ids = {};
  all("[id]").forEach(function (element) { if (ids[element.id]) found.doubled_ids.push(element.id); ids[element.id] = true; });
  all("a[href^='#'],use[href^='#']").forEach(function (link) {
    if (!document.getElementById(link.getAttribute("href").slice(1))) found.dead_links.push(link.getAttribute("href"));
  });
  var level = 0;
  all("h1,h2,h3,h4").forEach(function (heading) {
    var next = Number(heading.tagName[1]);
    if (next > level + 1) found.skipped_headings.push(heading.textContent);
    level = next;
  });

  // Contrast of text against the nearest background, WCAG 2.2, 1.4.3: 4.5 to 1.
  function parts(colour) { return (colour.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number); }
  function luminance(rgb) {
    var linear = rgb.slice(0, 3).map(function (value) {
      value /= 255;
      return value <= 0.04045 ? value / 12.92 : Math.pow((value + 0.055) / 1.055, 2.4);
    });
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  }
  function background(element) {
    for (; element; element = element.parentElement) {
      var colour = parts(getComputedStyle(element).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  }
  all("p,li,dt,dd,td,th,h1,h2,h3,h4,caption,figcaption,a,small,b").forEach(function (element) {
    if (element.closest("svg") || !element.textContent.trim() || element.className === "skip") return;
    var one = luminance(parts(getComputedStyle(element).color)), other = luminance(background(element));
    var ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    if (ratio < 4.5) found.low_contrast.push(element.tagName + " " + ratio.toFixed(2) + " " + element.textContent.slice(0, 40));
  });
  found.has_keyboard = document.hasFocus();
  found.width = window.innerWidth;
  found.overflow = document.documentElement.scrollWidth - window.innerWidth;
  tell(found);
})();
