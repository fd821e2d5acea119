import { useEffect, useRef } from 'preact/hooks';

/** Set once the first page stands: later pages take the focus, so that a screen reader says where one is. */
let arrived = false;

/** The title of a sheet; names the document, and takes the focus when one comes from another page. */
export function Heading({ text, also }: { readonly text: string; readonly also?: string }) {
  const place = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${also ? `${also} – ` : ''}${text} – Dyeworks`;
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
