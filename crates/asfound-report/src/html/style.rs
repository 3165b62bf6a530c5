//! The style of all pages.

use crate::html::css_string;
use crate::language::Language;
use crate::palette::{DARK, LIGHT};

/// What every page has.
const COMMON: &str = "
*{box-sizing:border-box}
html{color-scheme:light dark;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--ground);color:var(--ink);font:16px/1.5 'Noto Sans','Segoe UI',Roboto,'Helvetica Neue',Arial,sans-serif;overflow-wrap:anywhere}
a{color:var(--accent);text-underline-offset:.15em}
:focus-visible{outline:3px solid var(--accent);outline-offset:2px}
h1,h2,h3{line-height:1.25;text-wrap:balance}
h1{font-size:1.9rem;font-weight:600;margin:.2rem 0 .1rem;letter-spacing:-.01em}
h2{font-size:1.05rem;font-weight:600;margin:2.2rem 0 .6rem;padding-top:.55rem;border-top:2px solid var(--accent);color:var(--accent)}
h3{font-size:1rem;margin:1rem 0 .3rem}
p{margin:.4rem 0}
.muted,.small{color:var(--muted)}
.small{font-size:.83em;display:block;font-weight:400}
code,.code{font-family:'Noto Sans Mono',ui-monospace,Consolas,Menlo,monospace;font-size:.95em}
.m{font-style:normal;margin-right:.4em;font-size:.8em;vertical-align:.08em}
.good{color:var(--accent)}.agreed{color:var(--agreed)}.alarm{color:var(--alarm)}.open{color:var(--muted)}
.wide{overflow-x:auto;margin:.5rem 0 0;background:linear-gradient(90deg,var(--ground) 40%,transparent) 0 0/2.5rem 100% no-repeat local,linear-gradient(270deg,var(--ground) 40%,transparent) 100% 0/2.5rem 100% no-repeat local,linear-gradient(90deg,var(--rule),transparent) 0 0/.8rem 100% no-repeat,linear-gradient(270deg,var(--rule),transparent) 100% 0/.8rem 100% no-repeat}
table{border-collapse:collapse;width:100%;font-size:.9rem;font-variant-numeric:tabular-nums}
caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
th,td{text-align:left;vertical-align:top;padding:.4rem .9rem .4rem 0;border-bottom:1px solid var(--rule)}
thead th{overflow-wrap:normal;min-width:4.2em}thead th.fig{min-width:0}
th:last-child,td:last-child{padding-right:0}
thead th{font-size:.78rem;font-weight:600;color:var(--muted);border-bottom:1.5px solid var(--ink);vertical-align:bottom}
tbody th{font-weight:600;min-width:5.6rem}tbody th.fig{min-width:0}
.fig{text-align:right}
dl{display:grid;grid-template-columns:minmax(9rem,15rem) 1fr;gap:.15rem 1.2rem;margin:.6rem 0 0}
dt{color:var(--muted);font-size:.9rem}
dd{margin:0}
ul{margin:.4rem 0;padding-left:1.2rem}
li{margin:.2rem 0}
@media(max-width:520px){dl{grid-template-columns:1fr}dd{margin-bottom:.4rem}h1{font-size:1.5rem}}
";

/// What the sheet has.
const SHEET: &str = "
.sheet{max-width:60rem;margin:0 auto;padding:1.6rem clamp(1rem,4vw,3rem) 3rem}
.head{display:flex;gap:1.5rem;justify-content:space-between;align-items:flex-start;flex-wrap:wrap}
.own p{margin:0}.own{font-size:.9rem;text-align:right}.own p:first-child{font-weight:600;font-size:1rem}
.logo{display:block;max-width:11rem;max-height:4.5rem;margin:0 0 .4rem auto}
.number{font-size:.9rem;color:var(--muted)}
.claim{background:var(--panel);border-left:4px solid currentColor;padding:.8rem 1rem;margin:.6rem 0 1rem}
.claim span.t{color:var(--ink)}
.wide table{min-width:34rem}
.seal{font-size:1.05rem;overflow-wrap:anywhere}
.sealed{display:flex;flex-wrap:wrap;justify-content:space-between;gap:.5rem 2rem;align-items:flex-start}
.qr{background:#fff;display:block;width:9.5rem;height:9.5rem;margin:.8rem 0 .2rem}
.sign{display:grid;grid-template-columns:1fr 1fr;gap:2rem;margin-top:2.6rem;font-size:.83rem;color:var(--muted)}
.sign p{border-top:1px solid var(--ink);padding-top:.3rem;margin-top:2.4rem}
.end{text-align:center;color:var(--muted);margin-top:2.5rem;font-size:.85rem;letter-spacing:.04em}
@media screen and (max-width:520px){
.wide table{min-width:0}.wide thead{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}
.wide table,.wide tbody,.wide tr,.wide th,.wide td{display:block;text-align:left}
.wide tr{border-bottom:1.5px solid var(--ink);padding:.5rem 0}.wide tbody th,.wide td{border:0;padding:.1rem 0}
.wide td::before{content:attr(data-head) ': ';color:var(--muted);font-size:.9em}.wide td:empty{display:none}
}
@media(max-width:520px){.sign{grid-template-columns:1fr;gap:0}.own{text-align:left}.logo{margin-left:0}}
.front{font-size:1.1rem}.front h2{font-size:1.2rem;margin-top:1.5rem}.front .small,.front .sign{font-size:1rem}
@media print{
html{font-size:9.4pt}body{font-size:9.4pt;line-height:1.4}
.front{font-size:10.5pt}.front h2{font-size:11.6pt;margin:9pt 0 3pt}.front .small,.front .sign,.front .claim{font-size:10.5pt}.front+section{break-before:page}
.sheet{max-width:none;padding:0}
h1{font-size:17pt}h2{font-size:11pt;margin:14pt 0 4pt;break-after:avoid}
table{font-size:9.2pt}thead{display:table-header-group;break-after:avoid}tbody tr:first-child{break-before:avoid}thead th,.small,dt{font-size:9pt}
tr,.claim,.sign,.qr,li,dt,dd{break-inside:avoid}
.wide{overflow:visible;background:none}.wide table{min-width:0}tbody th{min-width:0}
th,td{padding:2.5pt 7pt 2.5pt 0}
.claim{padding:6pt 9pt}.qr{width:30mm;height:30mm}
footer{break-before:avoid}main>section:last-child,main>section:last-child ul{break-inside:avoid;break-after:avoid}
}
";

/// What the book has. Entries are no list items to CSS: a browser numbers those anew whenever one of them is hidden, and with
/// 5,000 of them a search took half a minute that way.
const BOOK: &str = "
.bar{position:sticky;top:0;z-index:2;background:var(--ground);border-bottom:1px solid var(--rule);padding:.6rem clamp(1rem,3vw,2.5rem);display:flex;gap:.4rem 1rem;align-items:center;flex-wrap:wrap}
.bar label{font-size:.9rem;color:var(--muted)}
.bar input{flex:1 1 14rem;min-width:0;max-width:34rem;font:inherit;color:inherit;background:var(--panel);border:1px solid var(--muted);border-radius:3px;padding:.35rem .6rem}
.bar input::placeholder{color:var(--muted);opacity:1}
.skip{position:absolute;left:-99rem}.skip:focus{left:1rem;top:.3rem;background:var(--ground);z-index:3;padding:.3rem}
.title{padding:1.4rem clamp(1rem,3vw,2.5rem) .6rem}
main{display:grid;gap:0 2.5rem;padding:0 clamp(1rem,3vw,2.5rem) 3rem}
main>section{min-width:0}
.key{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;font-size:.85rem;padding:0;list-style:none}
.key svg{width:1em;height:1em;vertical-align:-.12em;margin-right:.35em;overflow:visible}
.life{padding:.2rem 0 .9rem;border-bottom:1px solid var(--rule);content-visibility:auto;contain-intrinsic-size:auto 12rem}
.life svg{display:block;width:100%;min-width:42rem;height:auto}
.life h3{margin-bottom:0}
details{font-size:.9rem;margin-top:.3rem}summary{cursor:pointer;color:var(--accent)}
.step{fill:none;stroke:var(--ink);stroke-width:2;stroke-linejoin:round}
.base,.grid{stroke:var(--rule);stroke-width:1;fill:none}.tick{stroke:var(--muted);stroke-width:1.2;fill:none}
.life text{fill:var(--ink);font-size:12px}.life text.l{fill:var(--muted)}
.k0{fill:var(--ground);stroke:var(--muted);stroke-width:2}.k1{fill:var(--accent);stroke:var(--ground)}.k2{fill:var(--alarm);stroke:var(--ground)}.k3{fill:none;stroke:var(--alarm);stroke-width:2.6}.k4{fill:var(--muted);stroke:var(--ground)}
.g{content-visibility:auto;contain-intrinsic-size:auto 300rem}.g:last-child{contain-intrinsic-size:auto 60rem}
.e{padding:.55rem 0;border-bottom:1px solid var(--rule)}
.e:target,.life:target{background:var(--panel)}
.e b{font-weight:600}.e p{margin:.1rem 0}.e ul{margin:.1rem 0;font-size:.9rem}
.e .no{display:inline-block;min-width:2.6em;color:var(--muted);font-variant-numeric:tabular-nums}
[hidden]{display:none!important}
@media(min-width:1100px){main{grid-template-columns:minmax(0,3fr) minmax(0,2fr)}.beside{position:sticky;top:3.4rem;align-self:start;max-height:calc(100vh - 3.6rem);overflow:auto;padding-right:.6rem}}
@media print{main{display:block}.bar,.skip{display:none}.g,.life{content-visibility:visible}.e,.life{break-inside:avoid}.beside{position:static;max-height:none;overflow:visible}.life svg{min-width:0}body{font-size:9.5pt}}
";

/// The colours of both grounds; paper is white.
fn colours() -> String {
    format!(":root{{{}}}@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}", LIGHT.css(), DARK.css())
}

/// What stands on every page of paper: the number, and page x of y where the browser draws page margins.
fn paper(number: &str, language: Language) -> String {
    let words = language.words();
    let font = "font:9pt 'Noto Sans','Segoe UI',Roboto,Arial,sans-serif;color:#515e65";
    format!(
        "@page{{margin:16mm 15mm 19mm;@bottom-left{{content:{};{font}}}@bottom-right{{content:{} counter(page) {} counter(pages);{font}}}}}",
        css_string(number),
        css_string(&format!("{} ", words.page)),
        css_string(&format!(" {} ", words.of)),
    )
}

/// The style of a sheet.
pub(super) fn sheet(number: &str, language: Language) -> String {
    format!("{}{}{COMMON}{SHEET}", colours(), paper(number, language))
}

/// The style of a book.
pub(super) fn book(number: &str, language: Language) -> String {
    format!("{}{}{COMMON}{BOOK}", colours(), paper(number, language))
}
