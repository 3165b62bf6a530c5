'use strict';
const box=document.getElementById('find'),out=document.getElementById('count'),all=[...document.querySelectorAll('.f')],groups=[...document.querySelectorAll('.g')];
let texts;
function find(){
  texts??=all.map(one=>one.textContent.toLowerCase());
  const words=box.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown=0;
  const hits=new Map;
  all.forEach((one,at)=>{
    const hit=words.every(word=>texts[at].includes(word));
    one.hidden=!hit;
    if(hit&&one.classList.contains('e')){shown++;hits.set(one.parentElement,(hits.get(one.parentElement)??0)+1)}
  });
  for(const group of groups){
    const count=hits.get(group)??0;
    group.hidden=!count;
    group.style.containIntrinsicSize=words.length?'auto 20rem '+count*6+'rem':'';
  }
  out.textContent=words.length?shown+' '+out.dataset.words:'';
}
document.getElementById('bar').hidden=false;
box.addEventListener('input',find);
const asked=/^#find=(.*)$/.exec(location.hash);
if(asked){try{box.value=decodeURIComponent(asked[1])}catch{box.value=asked[1]}find()}
