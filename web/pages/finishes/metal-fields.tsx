import { linearToHex } from '../../../server/core/colour/srgb.ts';
import { METAL_NAMES, METAL_SOURCES, METALS, type MetalName } from '../../../server/core/finish/metals.ts';
import { formatKey } from '../../format.ts';
import { Field, Select } from '../../parts/form.tsx';
import { Chip } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import type { FinishForm } from './finish-form.ts';

const texts = finishesTexts.metals;

/** Families whose finishes show bare metal. */
const OF_METAL: ReadonlySet<string> = new Set(['bare-metal', 'plated', 'anodised']);

interface MetalFieldsProps {
  readonly form: FinishForm;
  readonly change: (part: Partial<FinishForm>) => void;
}

/** The table of bare metals, for finishes that show one: the colour is compared with it, or taken from it. */
export function MetalFields({ form, change }: MetalFieldsProps) {
  if (!OF_METAL.has(form.family) && form.metal !== 'yes' && form.metalName === '') return null;
  const metal = form.metalName === '' ? null : METALS[form.metalName];
  const hex = metal && linearToHex(metal.f0);
  return (
    <>
      <Field name={texts.metal}>
        <Select
          label={texts.metal}
          value={form.metalName}
          options={[['', commonTexts.none] as const, ...METAL_NAMES.map((name) => [name, formatKey(name)] as const)]}
          onPick={(metalName: MetalName | '') => change({ metalName })}
        />
      </Field>
      {metal && hex && (
        <div class="whole words small">
          <p class="measure">
            <Chip hex={hex} /> {texts.reflectance(formatShares(metal.f0), METAL_SOURCES[metal.source])}
            {metal.second && ` ${texts.second(formatShares(metal.second.f0))}`}
            {metal.clamped.length > 0 && ` ${texts.clamped(metal.clamped)}`}
          </p>
          <p>
            <button type="button" onClick={() => change({ way: 'hex', hex, metal: 'yes' })}>
              {texts.useColour(hex)}
            </button>
          </p>
        </div>
      )}
    </>
  );
}

function formatShares(rgb: readonly number[]): string {
  return rgb.map((share) => share.toFixed(2)).join(' ');
}
