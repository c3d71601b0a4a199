"""Style and script of the reference page: the colours of the kit, light or dark as the reader's screen is."""

from __future__ import annotations

from desalbook.theme import GROUNDS, colour

__all__ = ["SCRIPT", "style"]


def style() -> str:
    """The style sheet."""
    def ground(theme: str) -> str:
        ink = GROUNDS["dark" if theme == "light" else "light"]
        return (f"--ground:{GROUNDS[theme]};--ink:{ink};--quiet:{colour('quiet', theme)};"
                f"--link:{colour('sea', theme)};--line:color-mix(in srgb,{colour('quiet', theme)} 35%,transparent);"
                f"color-scheme:{theme}")

    return (f":root{{{ground('light')}}}@media screen and (prefers-color-scheme:dark){{:root{{{ground('dark')}}}}}"
            + _REST)


_REST = """
*{box-sizing:border-box}
html{scroll-padding-top:5.5rem}
body{margin:0;background:var(--ground);color:var(--ink);font:15px/1.5 "Noto Sans","DejaVu Sans",Arial,sans-serif;
overflow-wrap:break-word}
header,main,.find{max-width:64rem;margin:0 auto;padding:0 1.25rem}
header{padding-top:1.5rem}
h1{font-size:1.6rem;margin:0}
h2{font-size:1.35rem;margin:3rem 0 .5rem;border-bottom:2px solid var(--ink);padding-bottom:.2rem}
h3{font-size:1.1rem;margin:2rem 0 .5rem}
h4{font-size:1rem;margin:0}
h4 code{font-weight:400}
h5{font-size:.9rem;margin:.7rem 0 .1rem}
a{color:var(--link);text-underline-offset:2px}
a:focus-visible,input:focus-visible,summary:focus-visible{outline:2px solid var(--link);outline-offset:2px}
.quiet{color:var(--quiet)}
code,pre{font:.88em/1.45 "DejaVu Sans Mono",monospace}
pre{white-space:pre-wrap;margin:.3rem 0}
.signature{color:var(--quiet)}
nav{display:flex;flex-wrap:wrap;gap:.3rem 1.4rem;margin:1rem 0 .5rem}
.find{position:sticky;top:0;background:var(--ground);padding:.6rem 1.25rem;margin:0 auto;
border-bottom:1px solid var(--line);z-index:1}
input{font:inherit;color:inherit;background:var(--ground);border:1px solid var(--quiet);border-radius:4px;
padding:.25rem .5rem;margin:0 .4rem;width:min(24rem,60vw)}
.lead{line-height:1.9}
.entry{padding:.8rem 0;border-bottom:1px solid var(--line);content-visibility:auto;contain-intrinsic-size:auto 9rem}
.entry:target{box-shadow:-3px 0 0 var(--link);padding-left:.8rem}
.entry p{margin:.3rem 0;max-width:46rem}
dl{display:grid;grid-template-columns:fit-content(15rem) 1fr;gap:.15rem 1rem;margin:.4rem 0}
dt{color:var(--quiet)}
.doc dt{color:inherit}
dd{margin:0;max-width:46rem}
table{border-collapse:collapse;font-size:.9em;font-variant-numeric:tabular-nums;margin:.4rem 0}
th{text-align:left;font-weight:600;border-bottom:1px solid var(--ink)}
th,td{padding:.2rem .9rem .2rem 0;vertical-align:baseline}
.data td{border-bottom:1px solid var(--line)}
.data td:last-child{min-width:15rem}
.data td.own{min-width:11rem}
.wide{overflow-x:auto;padding:.2rem 0}
math{font-size:1.08rem}
math[display="block"]{display:block math;width:fit-content;margin-inline:0}
[hidden]{display:none!important}
@media(max-width:40rem){dl{grid-template-columns:1fr}dd{margin-bottom:.3rem}}
@media print{.find{display:none}.entry{content-visibility:visible;break-inside:avoid}}
"""

SCRIPT = """
const box=document.getElementById("find"),found=document.getElementById("found");
const entries=[...document.querySelectorAll(".entry")].map(e=>[e,e.textContent.toLowerCase()]);
const groups=[...document.querySelectorAll(".group,.chapter")];
let waiting;
function look(){
  const words=box.value.toLowerCase().split(/\\s+/).filter(Boolean);let n=0;
  for(const [e,text] of entries){const on=words.every(w=>text.includes(w));e.hidden=!on;n+=on}
  for(const g of groups)g.hidden=words.length>0&&!g.querySelector(".entry:not([hidden])");
  for(const l of document.querySelectorAll(".lead"))l.hidden=words.length>0;
  found.textContent=words.length?`${n} ${n===1?"entry":"entries"}`:"";
}
box.addEventListener("input",()=>{clearTimeout(waiting);waiting=setTimeout(look,120)});
document.addEventListener("click",e=>{const a=e.target.closest('a[href^="#"]');
  if(a&&box.value){box.value="";look()}});
"""
