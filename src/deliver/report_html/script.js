(function(){
"use strict";
function each(list,work){Array.prototype.forEach.call(list,work)}
function say(target){
  var item=target.closest("[data-say]"),figure=item&&item.closest("figure"),line=figure&&figure.querySelector(".say");
  if(!line)return;
  each(figure.querySelectorAll(".on"),function(other){other.classList.remove("on")});
  item.classList.add("on");
  line.textContent=item.getAttribute("data-say");
}
function openCard(target){
  var zone=target.closest("[data-card]");
  if(!zone)return false;
  var figure=zone.closest("figure");
  each(figure.querySelectorAll(".on"),function(other){other.classList.remove("on")});
  zone.classList.add("on");
  figure.querySelector(".hint").hidden=true;
  each(figure.querySelectorAll(".card"),function(card){card.hidden=card.id!==zone.getAttribute("data-card")});
  return true;
}
function unfold(id){
  var target=id&&document.getElementById(id);
  for(var place=target;place;place=place.parentElement)if(place.tagName==="DETAILS")place.open=true;
  if(target)target.scrollIntoView();
}
document.addEventListener("click",function(event){
  var target=event.target.closest?event.target:null;
  if(!target)return;
  say(target);
  if(openCard(target)){event.preventDefault();return}
  var link=target.closest("a[href^='#']");
  if(link)unfold(link.getAttribute("href").slice(1));
});
["pointerover","focusin"].forEach(function(kind){
  document.addEventListener(kind,function(event){
    if(!event.target.closest)return;
    say(event.target);
    if(kind==="focusin")openCard(event.target);
  });
});
document.getElementById("unfold").addEventListener("click",function(){
  var folds=document.querySelectorAll("details"),open=!folds[0].open;
  each(folds,function(fold){fold.open=open});
  this.textContent=open?"Close everything again":"Open everything, for reading or printing";
});
if(location.hash)unfold(location.hash.slice(1));
})();
