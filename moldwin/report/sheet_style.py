"""How the run sheet looks: on paper, on a phone, in the dark.

Soak and cooling time are read from a meter away, over steam and in poor light. Their digits are at
least 10 mm tall on paper, which is 34 minutes of arc at 1 m: half as much again as the 20 to 22
that ISO 9241-303 (from memory) recommends for reading at ease. Digits of most fonts are 0.7 of the
font's size, so that 10 mm take 42 points. On a phone the same 56 px come out 6 to 7 mm tall.
"""

from __future__ import annotations

__all__ = ["STYLE"]

STYLE = """
:root{--ink:#16201f;--soft:#47524f;--paper:#fbfbf8;--card:#fff;--line:#8a9592;--link:#0b5563;
--c1:#e3ece6;--c2:#b0d3be;--c3:#58adb2;--stop:#8c1515;--halo:#fff;color-scheme:light dark}
@media (prefers-color-scheme:dark){:root{
--ink:#eef2f0;--soft:#b9c3c0;--paper:#131817;--card:#1c2322;
--line:#6f7b78;--link:#8fd3dc;--c1:#26322f;--c2:#2d5552;--c3:#287078;--stop:#ffb4a8;--halo:#131817}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:68rem;padding:1rem;background:var(--paper);color:var(--ink);
font:1rem/1.45 "Liberation Sans",Arial,Helvetica,system-ui,sans-serif;overflow-wrap:anywhere}
h1{font-size:1.5rem;line-height:1.2;margin:0}
h2{font-size:1.05rem;margin:0 0 .4rem}
p{margin:.3rem 0}
a{color:var(--link)}
section,form{background:var(--card);border:1px solid var(--line);border-radius:.4rem;
padding:.8rem;margin:.8rem 0}
.lede{color:var(--soft)}
.figures{display:grid;grid-template-columns:1fr 1fr;grid-auto-flow:dense;gap:.6rem;margin:0}
.figures .far{grid-column:1/-1}
.figures div{border-left:.3rem solid var(--c3);padding-left:.6rem}
.figures dt{font-size:.95rem;color:var(--soft)}
.figures dd{margin:0;font-size:1.8rem;font-weight:700;line-height:1.15;white-space:nowrap}
.figures .far dd{font-size:56px;letter-spacing:-.02em}
.stop{color:var(--stop);font-size:56px;font-weight:800;line-height:1.05;margin:.2rem 0}
.status{font-weight:600}
.cols{display:grid;gap:0 .8rem}
.cols>div{display:contents}.pic{order:-1}
.small{font-size:.85rem}
ol.steps{margin:0;padding-left:1.5rem}
ol.steps>li{margin:0 0 .6rem;padding-left:.2rem}
ol.steps>li::marker{font-weight:700}
ul{margin:.2rem 0;padding-left:1.2rem}
.boxes{display:flex;flex-wrap:wrap;gap:.4rem .8rem;margin:.35rem 0}
.boxes label{display:inline-flex;align-items:center;gap:.35rem;font-size:.9rem}
.boxes input:not([type=checkbox]){width:5rem;height:2.2rem;font:inherit;color:inherit;
background:transparent;border:1px solid var(--ink);border-radius:.2rem;padding:0 .3rem}
.boxes .wide input{width:12rem;max-width:60vw}
.boxes fieldset{border:0;margin:0;padding:0;display:inline-flex;flex-wrap:wrap;gap:.2rem .6rem;
align-items:center}
.boxes legend{float:left;padding:0;margin-right:.2rem;font-size:.9rem}
input[type=checkbox],input[type=radio]{width:1.15rem;height:1.15rem;accent-color:var(--link)}
code{font:.85em/1.3 ui-monospace,"Liberation Mono",monospace}
pre{white-space:pre-wrap;font:.8rem/1.35 ui-monospace,"Liberation Mono",monospace;margin:.4rem 0}
figure{margin:0}
figcaption{font-size:.85rem;color:var(--soft)}
svg{width:100%;height:auto;display:block;max-width:36rem}
svg text{fill:var(--ink);font-size:12px;font-family:inherit}
@media screen and (max-width:40rem){svg text{font-size:16px}svg .here{font-size:17px}}
svg .mid{text-anchor:middle}svg .end{text-anchor:end}svg .start{text-anchor:start}
svg .here{font-weight:700;font-size:13px}
svg .here,svg .lim{paint-order:stroke;stroke:var(--halo);stroke-width:3px;stroke-linejoin:round}
.c1{fill:var(--c1)}.c2{fill:var(--c2)}.c3{fill:var(--c3)}
.win{fill:none;stroke:var(--ink);stroke-width:2.2;stroke-linejoin:round}
.axis{fill:none;stroke:var(--ink);stroke-width:1}
.only{stroke:var(--ink);stroke-width:1.6;stroke-dasharray:6 4}
.dot,.goal{fill:var(--halo);stroke:var(--ink);stroke-width:2.2}
.hair{stroke:var(--ink);stroke-width:1.3;stroke-dasharray:2 3}
.try label{display:block;font-weight:600;margin-top:.5rem}
.try input[type=range]{width:100%;height:2rem;accent-color:var(--link)}
.try output{font-weight:400}
.try .typed input{width:6rem;height:2.2rem;font:inherit}
.units{display:flex;flex-wrap:wrap;gap:.4rem 1.2rem;align-items:center}
.units fieldset{border:0;padding:0;margin:0;display:flex;gap:.8rem}
.units legend{float:left;margin-right:.8rem;font-weight:600}
.units label{display:inline-flex;gap:.3rem;align-items:center}
button{font:inherit;min-height:2.4rem;padding:.2rem .8rem;margin-top:.5rem;color:var(--ink);
background:var(--paper);border:1px solid var(--ink);border-radius:.3rem}
:focus-visible{outline:3px solid var(--link);outline-offset:2px}
summary{cursor:pointer;font-weight:600;min-height:1.8rem}
table{border-collapse:collapse;font-size:.85rem}
th,td{text-align:left;padding:.1rem .6rem .1rem 0;vertical-align:top}
.skip{position:absolute;left:-999px}.skip:focus{position:static}
.hush{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
[hidden]{display:none!important}
.paper{display:none}
@media (min-width:40rem){.figures{grid-template-columns:repeat(auto-fit,minmax(8rem,auto))}
.figures .far{grid-column:auto}}
@media (min-width:60rem){.cols{grid-template-columns:1.15fr 1fr}.cols>div{display:block}}
@page{margin:8mm}
@media print{
:root{--ink:#000;--soft:#222;--paper:#fff;--card:#fff;--line:#777;--link:#000;--c1:#e8e8e8;
--c2:#c4c4c4;--c3:#9a9a9a;--stop:#000;--halo:#fff;color-scheme:light}
html{font-size:8.4pt}
body{padding:0;max-width:none;line-height:1.24;background:none}
.screen{display:none!important}
.paper{display:block}
section{border:0;border-top:1px solid #777;border-radius:0;margin:0;padding:1.3mm 0;
break-inside:avoid}
h1{font-size:13pt}h2{font-size:9pt;margin:0 0 .5mm}
p{margin:.4mm 0}
.figures{display:flex;justify-content:space-between;gap:0 3mm}
.figures div{border-left:0;padding:0}
.figures dt{font-size:9pt}
.figures dd{font-size:27pt}
.figures .far dd,.stop{font-size:42pt}
.cols{display:block;columns:2;column-gap:4mm}.cols>div{display:contents}
.dense #warned,.tight #warned{break-inside:auto}
#warned li{break-inside:avoid}#warned h2{break-after:avoid}
ol.steps>li{margin-bottom:1mm}
.boxes{gap:.8mm 2.5mm;margin:.7mm 0}
.boxes input:not([type=checkbox]){height:6.2mm;width:16mm;border-radius:0}
.boxes .wide input{width:52mm}
.boxes label,.boxes legend{font-size:8pt}
input[type=checkbox]{width:3.2mm;height:3.2mm}
.small{font-size:6.4pt;line-height:1.2}
.small h2{display:inline;font-size:6.6pt}.small h2::after{content:": "}
.small p{display:inline;margin:0}
svg{max-width:none}
svg text{font-size:13px}
body.dense,.dense section,.dense .boxes label,.dense .boxes legend{font-size:7.7pt}
body.tight,.tight section,.tight .boxes label,.tight .boxes legend{font-size:6.7pt}
.dense .figures .far dd,.tight .figures .far dd,.dense .stop,.tight .stop{font-size:42pt}
.dense .boxes input:not([type=checkbox]),.tight .boxes input:not([type=checkbox]){height:5.2mm}
.dense section.small,.dense footer.small{font-size:5.8pt}
.tight section.small,.tight footer.small{font-size:5.2pt}
.tight .figures dd{font-size:22pt}.tight h2{font-size:7.6pt}.small h2{font-size:inherit!important}
.tight .pic svg{max-width:74mm}
}
"""
