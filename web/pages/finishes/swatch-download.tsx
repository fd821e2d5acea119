import { useSignal } from '@preact/signals';
import { SWATCH_KINDS, type SwatchKind } from '../../../server/core/picture/picture.ts';
import { seg } from '../../api.ts';
import { Field, Select } from '../../parts/form.tsx';
import { finishesTexts } from '../../texts/finishes.ts';
import { pictureSetsTexts } from '../../texts/pictures.ts';

const texts = finishesTexts.swatch;

const SIZES = ['256', '512', '1024', '2048'] as const;

/** Downloads the stored finish as a swatch. */
export function SwatchDownload({ finish }: { readonly finish: string }) {
  const kind = useSignal<SwatchKind>('sphere');
  const size = useSignal<(typeof SIZES)[number]>('1024');
  return (
    <section class="swatch-download no-print">
      <h3>{texts.heading}</h3>
      <div class="actions">
        <Field inline name={texts.kind}>
          <Select
            label={texts.kind}
            value={kind.value}
            options={SWATCH_KINDS.map((each) => [each, pictureSetsTexts.swatchNames[each]] as const)}
            onPick={(picked) => {
              kind.value = picked;
            }}
          />
        </Field>
        <Field inline name={texts.size}>
          <Select
            label={texts.size}
            value={size.value}
            options={SIZES.map((each) => [each, pictureSetsTexts.squares([Number(each)])] as const)}
            onPick={(picked) => {
              size.value = picked;
            }}
          />
        </Field>
        <a
          class="button"
          download={`${finish}-${kind.value}-${size.value}.png`}
          href={`/api/finishes/${seg(finish)}/swatch.png?kind=${kind.value}&size=${size.value}`}
        >
          {texts.download}
        </a>
      </div>
    </section>
  );
}
