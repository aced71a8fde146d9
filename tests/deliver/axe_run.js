// Lets axe-core look at the page and tells what it found.
(function () {
  "use strict";
  function short(violation) {
    var nodes = violation.nodes.map(function (node) { return node.target.join(" ") + ": " + node.failureSummary; });
    return { id: violation.id, impact: violation.impact, help: violation.help, count: nodes.length, nodes: nodes.slice(0, 3) };
  }
  // What is folded away has to be read too.
  Array.prototype.forEach.call(document.querySelectorAll("details"), function (fold) { fold.open = true; });
  axe.run(document, { resultTypes: ["violations", "passes"] }).then(function (found) {
    tell({
      version: axe.version,
      width: window.innerWidth,
      dark: window.matchMedia("(prefers-color-scheme: dark)").matches,
      passes: found.passes.map(function (pass) { return pass.id; }),
      violations: found.violations.map(short),
      // What axe cannot decide by itself is not an issue; the probe beside this file measures contrast on its own.
      undecided: found.incomplete.map(function (open) { return open.id; })
    });
  }, function (error) { tell({ failed: String(error) }); });
})();
