import type { ScheduleHead } from '../../server/core/sheet/schedule-source.ts';
import { escapeHtml } from './escape-html.ts';
import { at } from './write-page.ts';

export const HEAD_STYLES = `
.head { right: 0; border-bottom: .2mm solid #88816f }
.head div { display: flex; justify-content: space-between; gap: 6mm; padding-top: 1.6mm }
`;

/** Title, what it is, and the facts of the product, over a rule; `heightMm` with the rule. */
export function writeScheduleHead(sheet: ScheduleHead, heightMm: number): string {
  const { title, product, subtitle, size, rows, date } = sheet;
  const facts = [product, size, `${rows} ${rows === 1 ? 'variant' : 'variants'}`, date].filter((fact) => fact !== null);
  return `<div class="head" ${at(0, 0, undefined, heightMm)}><h1 class="line">${escapeHtml(title)}</h1><div><span>${escapeHtml(subtitle)}</span><span>${escapeHtml(facts.join(' · '))}</span></div></div>`;
}
