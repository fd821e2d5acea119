import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { COLOUR_CAUTION } from '../../server/core/delivery/delivery.ts';
import { formatDate } from '../format.ts';
import { route } from '../router.ts';
import { commonTexts } from '../texts/common.ts';
import { setUnits, type Units, units } from '../units.ts';
import { WhoIsHere } from './sign-in.tsx';

const texts = commonTexts.shell;

const UNITS: readonly [Units, string][] = [
  ['mm', texts.millimetres],
  ['inch', texts.inches],
];

/** The frame of every page: navigation above, the colour caution and the choice of units below. */
export function Shell({ children }: { readonly children: ComponentChildren }) {
  const { page } = route.value;
  return (
    <>
      <header class="head">
        <a class="house" href="/">
          {texts.product}
        </a>
        <nav aria-label={texts.pages} class="actions">
          <a href="/" aria-current={page === 'home' ? 'page' : undefined}>
            {texts.home}
          </a>
          <a href="/finishes" aria-current={page === 'finishes' ? 'page' : undefined}>
            {texts.finishes}
          </a>
          <a href="/picture-sets" aria-current={page === 'picture-sets' ? 'page' : undefined}>
            {texts.pictureSets}
          </a>
        </nav>
        <WhoIsHere />
      </header>
      <main>{children}</main>
      <footer class="foot">
        <p class="measure">{COLOUR_CAUTION}</p>
        <p class="print-only">{formatDate(new Date().toISOString())}</p>
        <fieldset class="choice">
          <legend class="unseen">{texts.units}</legend>
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

/** True after the first page: later pages take the focus, so that a screen reader announces them. */
let arrived = false;

/** The title of a page. It also names the document, and takes the focus after navigation. */
export function Heading({ text, titlePrefix }: { readonly text: string; readonly titlePrefix?: string }) {
  const place = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${titlePrefix ? `${titlePrefix} – ` : ''}${text} – ${commonTexts.shell.product}`;
  }, [text, titlePrefix]);
  useEffect(() => {
    if (arrived) place.current?.focus({ preventScroll: true });
    arrived = true;
  }, []);
  return (
    <h1 ref={place} tabIndex={-1}>
      {text}
    </h1>
  );
}
