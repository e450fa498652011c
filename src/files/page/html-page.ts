import { marked } from 'marked';
import { escaped } from './escaped.ts';

/** A part of a page: text as Markdown, a drawing as HTML, or text that is unfolded by its title; the last two are left out of Markdown. */
export type PagePart =
  | { readonly markdown: string }
  | { readonly drawing: string }
  | { readonly folded: string; readonly inside: string };

/** The text of the parts as one Markdown document. */
export const markdownOf = (parts: readonly PagePart[]): string =>
  parts.flatMap((part) => ('markdown' in part ? [part.markdown] : [])).join('\n');

const STYLE = `
:root { color-scheme: light dark; --paper: light-dark(#fcfbf8, #182127); --well: light-dark(#f1eee6, #10171c); --line: light-dark(#d9d5ca, #313e46); --ink: light-dark(#1c2830, #e8ecec); --soft: light-dark(#58646c, #95a3ab); --after: light-dark(#14617a, #67bdd0); --warn: light-dark(#8f3f0c, #f2ab74); }
body { max-width: 46rem; margin: 2rem auto; padding: 0 1.25rem; background: var(--paper); color: var(--ink); font: 15px/1.5 system-ui, sans-serif; }
h1 { font-size: 1.6rem; line-height: 1.2; }
h2 { margin-top: 2rem; padding-top: 0.8rem; border-top: 1px solid var(--line); font-size: 1.15rem; }
h3 { margin-top: 1.4rem; font-size: 1rem; }
.wide { overflow-x: auto; }
table { width: 100%; border-collapse: collapse; font-size: 13px; font-variant-numeric: tabular-nums; }
th, td { padding: 3px 8px 3px 0; border-bottom: 1px solid var(--line); text-align: left; vertical-align: top; }
th { color: var(--soft); font-weight: 400; overflow-wrap: normal; }
[align=right] { text-align: right; }
td[align=right] { white-space: nowrap; }
td:first-child { overflow-wrap: anywhere; }
strong { color: var(--warn); }
figure { margin: 1.2rem 0; break-inside: avoid; }
figcaption { margin-bottom: 4px; font-size: 13px; }
.key { margin-left: 12px; color: var(--soft); }
.key::before { display: inline-block; width: 18px; margin-right: 5px; border-top: 2px solid var(--after); vertical-align: middle; content: ''; }
.key.before::before { border-top: 2px dashed var(--soft); }
.pictures { display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 0.4rem 1.2rem; }
.pictures figure { margin: 0.4rem 0; }
summary { cursor: pointer; }
svg { display: block; width: 100%; height: auto; }
svg text { fill: var(--soft); font: 11px system-ui, sans-serif; font-variant-numeric: tabular-nums; }
.rule { stroke: var(--line); }
.line { fill: none; stroke: var(--after); stroke-width: 1.5; }
.line.before { stroke: var(--soft); stroke-dasharray: 4 3; }
rect.after { fill: var(--after); }
@media print { :root { color-scheme: light; --paper: #fff; } body { max-width: none; margin: 0; padding: 0; font-size: 10.5pt; } .wide { overflow: visible; } table { font-size: 8pt; } th, td { padding-right: 5px; } h2, h3 { break-after: avoid; } tr { break-inside: avoid; } }
@page { margin: 16mm; }
`;

const htmlOf = (markdown: string): string =>
  marked
    .parse(markdown, { async: false })
    .replace(/<table>/g, '<div class="wide"><table>')
    .replace(/<\/table>/g, '</table></div>');

const partHtml = (part: PagePart): string => {
  if ('markdown' in part) return htmlOf(part.markdown);
  if ('drawing' in part) return part.drawing;
  return `<details><summary>${escaped(part.folded)}</summary>${htmlOf(part.inside)}</details>`;
};

/** Content of a page. */
interface Page {
  readonly title: string;
  /** Style in addition to that of all pages. */
  readonly style?: string;
  /** Script rules of the page's Content-Security-Policy; without them no script runs. */
  readonly scripts?: string;
  readonly body: string;
}

/** One self-contained HTML file: no external picture, font or script. */
export const pageAround = ({ title, style = '', scripts, body }: Page): string => `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'${scripts === undefined ? '' : `; ${scripts}`}">
<title>${escaped(title)}</title>
<style>${STYLE}${style}</style>
</head>
<body>
${body}
</body>
</html>
`;

/** A page of text and drawings; without `scripts` no script of theirs runs. */
export const htmlPage = (title: string, parts: readonly PagePart[], style = '', scripts?: string): string =>
  pageAround({ title, style, ...(scripts === undefined ? {} : { scripts }), body: parts.map(partHtml).join('\n') });
