import { useEffect, useRef } from 'preact/hooks';
import { Notice } from '../../../parts/form.tsx';
import { lazyPage } from '../../../parts/lazy-page.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';

const IncomingRevision = lazyPage(() => import('./incoming-revision.tsx').then((part) => part.IncomingRevision));

/** A newer export: its upload, what it changes, and the choice to use it. */
export function IncomingSection({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const sending = revisions.sending.value;
  const waiting = revisions.waiting.value;
  const section = useRef<HTMLElement>(null);
  const shown = sending !== null || waiting !== null;
  useEffect(() => {
    // a file may be dropped anywhere on the page, so bring its result into view
    if (shown) section.current?.scrollIntoView({ block: 'nearest' });
  }, [shown, waiting]);
  return (
    <section
      ref={section}
      class="incoming no-print"
      hidden={!shown && !revisions.problem.value && !revisions.message.value}
    >
      {shown && <h2>{waiting ? texts.arrived(waiting.revision) : texts.uploading}</h2>}
      {sending !== null && (
        <p role="status">
          {sending < 1 ? commonTexts.uploading(sending) : texts.measuring}
          <progress aria-label={commonTexts.uploaded} value={sending} />
        </p>
      )}
      <Notice text={revisions.problem.value ?? revisions.message.value} />
      {waiting && <IncomingRevision model={model} answer={waiting} />}
    </section>
  );
}
