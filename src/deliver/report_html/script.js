(function(){
"use strict";
function show(target){
  var item=target&&target.closest?target.closest("[data-say]"):null;
  if(!item)return;
  var figure=item.closest("figure"),line=figure&&figure.querySelector(".say");
  if(!line)return;
  figure.querySelectorAll(".on").forEach(function(other){other.classList.remove("on")});
  item.classList.add("on");
  line.textContent=item.getAttribute("data-say");
}
["pointerover","click","focusin"].forEach(function(kind){
  document.addEventListener(kind,function(event){show(event.target)});
});
})();
