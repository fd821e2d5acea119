/**
 * The look of the viewer, as a constructed sheet: a policy of `default-src 'self'` refuses inline styles. Shops change it by
 * custom properties and by parts.
 */
export const LOOK = `
:host {
  --dyeworks-ink: #1d1b18;
  --dyeworks-paper: #fbf9f5;
  --dyeworks-rule: #8b857b;
  --dyeworks-mark: #1d1b18;
  --dyeworks-chip: 28px;
  --dyeworks-ratio: 4 / 3;
  display: block;
  color: var(--dyeworks-ink);
  font: inherit;
  text-align: start;
}
:host([hidden]) { display: none; }
.frame { position: relative; aspect-ratio: var(--dyeworks-ratio); background: var(--dyeworks-paper); overflow: hidden; }
.frame:fullscreen { aspect-ratio: auto; }
.frame > img, .frame > canvas { position: absolute; inset: 0; inline-size: 100%; block-size: 100%; }
.frame > img { object-fit: contain; }
.frame > canvas { opacity: 0; transition: opacity 240ms; }
.frame > canvas.drawn { opacity: 1; }
.frame > canvas:focus-visible { outline-offset: -3px; }
@media (prefers-reduced-motion: reduce) { .frame > canvas { transition: none; } }
.note { position: absolute; inset-inline: 0; inset-block-end: 0; margin: 0; padding: 6px 10px; }
.note:empty { display: none; }
.tools { display: flex; flex-wrap: wrap; gap: 4px 12px; padding-block: 6px; }
.tools:empty { display: none; }
button, .tools a {
  font: inherit; color: inherit; background: none; border: 0; border-block-end: 1px solid var(--dyeworks-rule);
  min-block-size: 28px; padding: 2px 4px; cursor: pointer; text-decoration: none;
}
.tools a > img { max-block-size: 28px; }
fieldset { border: 0; border-block-start: 1px solid var(--dyeworks-rule); margin: 0; padding: 8px 0; min-inline-size: 0; }
legend { padding: 0; padding-inline-end: 12px; font-weight: 600; }
.choices { display: flex; flex-wrap: wrap; gap: 2px 14px; }
label { display: inline-flex; align-items: center; gap: 8px; min-block-size: 32px; cursor: pointer; }
label bdi { overflow-wrap: anywhere; }
input { inline-size: 18px; block-size: 18px; margin: 0; accent-color: var(--dyeworks-mark); flex: none; }
.chip { inline-size: var(--dyeworks-chip); block-size: var(--dyeworks-chip); border: 1px solid var(--dyeworks-rule); flex: none; }
label:has(input:checked) bdi { font-weight: 600; }
:focus-visible { outline: 2px solid var(--dyeworks-mark); outline-offset: 2px; }
.heard { position: absolute; inline-size: 1px; block-size: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
@media (prefers-color-scheme: dark) {
  :host([theme='auto']) { --dyeworks-ink: #ece7dd; --dyeworks-paper: #1f1d1a; --dyeworks-mark: #ece7dd; }
}
`;
