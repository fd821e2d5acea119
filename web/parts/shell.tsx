import type { ComponentChildren } from 'preact';
import { COLOUR_CAUTION } from '../../server/core/delivery/delivery.ts';
import { formatDate, type Units } from '../format.ts';
import { route } from '../router.ts';
import { setUnits, units } from '../units.ts';

const UNITS: readonly [Units, string][] = [
  ['mm', 'Millimetres'],
  ['inch', 'Inches'],
];

/** What every page has: the head with the ways through the house, and the foot with the caution. */
export function Shell({ children }: { readonly children: ComponentChildren }) {
  const { page } = route.value;
  return (
    <>
      <header class="head">
        <a class="house" href="/">
          Dyeworks
        </a>
        <nav aria-label="Pages" class="actions">
          <a href="/" aria-current={page === 'home' ? 'page' : undefined}>
            Lines and products
          </a>
          <a href="/finishes" aria-current={page === 'finishes' ? 'page' : undefined}>
            Finishes
          </a>
          <a href="/picture-sets" aria-current={page === 'picture-sets' ? 'page' : undefined}>
            Picture sets
          </a>
        </nav>
      </header>
      <main>{children}</main>
      <footer class="foot">
        <p class="measure">{COLOUR_CAUTION}</p>
        <p class="print-only">{formatDate(new Date().toISOString())}</p>
        <fieldset class="choice">
          <legend class="unseen">Measures in</legend>
          {UNITS.map(([value, label]) => (
            <label class="tick" key={value}>
              <input type="radio" name="units" checked={units.value === value} onChange={() => setUnits(value)} />
              {label}
            </label>
          ))}
        </fieldset>
      </footer>
    </>
  );
}
