'use strict';
const box=document.getElementById('find'),out=document.getElementById('count'),all=[...document.querySelectorAll('.f')];
let texts;
function find(){
  texts??=all.map(one=>one.textContent.toLowerCase());
  const words=box.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown=0;
  all.forEach((one,at)=>{const hit=words.every(word=>texts[at].includes(word));one.hidden=!hit;if(hit&&one.classList.contains('e'))shown++});
  out.textContent=words.length?shown+' '+out.dataset.words:'';
}
document.getElementById('bar').hidden=false;
box.addEventListener('input',find);
const asked=/^#find=(.*)$/.exec(location.hash);
if(asked){try{box.value=decodeURIComponent(asked[1])}catch{box.value=asked[1]}find()}
