import { useEffect, useRef } from 'preact/hooks';
import { commonTexts } from '../texts/common.ts';

/** True after the first page: later pages take the focus, so that a screen reader announces them. */
let arrived = false;

/** The title of a page. It also names the document, and takes the focus after navigation. */
export function Heading({ text, also }: { readonly text: string; readonly also?: string }) {
  const place = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${also ? `${also} – ` : ''}${text} – ${commonTexts.shell.product}`;
  }, [text, also]);
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
