// Sorts the tables marked as sortable and shows one panel's card at a time. The page is complete without it.
(function () {
  "use strict";
  function value(row, column) {
    var cell = row.children[column];
    var given = cell.getAttribute("data-value");
    return given === null ? cell.textContent.trim().toLowerCase() : Number(given);
  }
  document.querySelectorAll("table.sortable").forEach(function (table) {
    var heads = table.querySelectorAll("thead th");
    heads.forEach(function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.textContent = head.textContent;
      head.textContent = "";
      head.appendChild(button);
      button.addEventListener("click", function () {
        var up = head.getAttribute("aria-sort") !== "ascending";
        heads.forEach(function (h) { h.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        var body = table.tBodies[0];
        Array.prototype.slice.call(body.rows).sort(function (a, b) {
          var x = value(a, column), y = value(b, column);
          return (x < y ? -1 : x > y ? 1 : 0) * (up ? 1 : -1);
        }).forEach(function (row) { body.appendChild(row); });
      });
    });
  });
  var place = document.getElementById("switcher");
  var cards = document.querySelectorAll("section.card");
  if (place && cards.length > 1) {
    var label = document.createElement("label");
    label.textContent = "Show ";
    var select = document.createElement("select");
    var all = document.createElement("option");
    all.textContent = "every panel";
    all.value = "";
    select.appendChild(all);
    cards.forEach(function (card) {
      var option = document.createElement("option");
      option.textContent = card.querySelector("h3").textContent;
      option.value = card.id;
      select.appendChild(option);
    });
    select.addEventListener("change", function () {
      cards.forEach(function (card) { card.hidden = select.value !== "" && card.id !== select.value; });
    });
    label.appendChild(select);
    place.appendChild(label);
  }
}());
