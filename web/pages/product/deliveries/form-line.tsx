import type { ComponentChildren } from 'preact';
import { formatBytes } from '../../../format.ts';
import { deliveryFileTexts as texts } from '../../../texts/delivery-files.ts';

interface FormProps {
  readonly name: string;
  /** What the form loses. */
  readonly note: string;
  /** Null while it is not known. */
  readonly bytes?: number | null | undefined;
  /** The download, at the end of the first line. */
  readonly download?: ComponentChildren;
  readonly children?: ComponentChildren;
}

/** A line of the list. Each form of a delivery is one: its name, what it loses, its size, its controls and its download. */
export function Form({ name, note, bytes, download, children }: FormProps) {
  return (
    <section class="delivered-form" aria-label={name}>
      <div class="form-head">
        <h4>{name}</h4>
        {bytes !== undefined && <span class="figure">{bytes === null ? texts.unknownSize : formatBytes(bytes)}</span>}
        {download}
      </div>
      <p class="small soft">
        {texts.loses}: {note}
      </p>
      {children}
    </section>
  );
}

/** A download with words for those who do not see its line. */
export function Download({ href, of, text = texts.get }: { href: string; of: string; text?: string }) {
  return (
    <a class="button" href={href} download>
      {text}
      <span class="unseen">{texts.of(of)}</span>
    </a>
  );
}
