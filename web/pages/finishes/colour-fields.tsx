import { type ColourSource, GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import type { ResolvedFinish } from '../../../server/core/finish/resolve-finish.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import type { ColourForm, ColourWay, Three } from './colour-form.ts';

interface ColourFieldsProps {
  readonly form: ColourForm;
  readonly change: (part: Partial<ColourForm>) => void;
  /** What the form comes to; null while it cannot be read. */
  readonly resolved: Pick<ResolvedFinish, 'maps' | 'colourFrom' | 'hex'> | null;
}

const SOURCES: readonly (readonly [ColourSource, string])[] = [
  ['specification', 'The colour given here'],
  ['map', 'The colour map'],
];
const WAYS: readonly (readonly [ColourWay, string])[] = [
  ['hex', 'sRGB hex'],
  ['lab', 'CIE Lab, measured'],
  ['xyz', 'CIE XYZ, measured'],
  ['spectrum', 'A spectrum, measured'],
];
const AXES = { lab: ['L*', 'a*', 'b*'], xyz: ['X', 'Y', 'Z'] } as const;
const VIEWINGS = ILLUMINANTS.toReversed().flatMap((illuminant) =>
  OBSERVERS.map((observer) => `${illuminant}/${observer}`),
);
const GEOMETRY_NAMES = { 'di:8': 'sphere, reflection included', 'de:8': 'sphere, reflection excluded', '45:0': '' };

/** The colour as the maker states it, with all that makes its figures mean something. */
export function ColourFields({ form, change, resolved }: ColourFieldsProps) {
  const from = form.colourFrom || resolved?.colourFrom;
  const hasMap = from === 'map' || resolved?.maps.colour !== undefined;
  return (
    <>
      {hasMap && (
        <Field name="Colour from">
          <Select
            label="Colour from"
            value={from ?? 'specification'}
            options={SOURCES}
            onPick={(colourFrom) => change({ colourFrom })}
          />
        </Field>
      )}
      {from === 'map' ? (
        <p class="whole small soft">The colour is the mean of the colour map{resolved && `: ${resolved.hex}`}.</p>
      ) : (
        <GivenColourFields form={form} change={change} />
      )}
    </>
  );
}

function GivenColourFields({ form, change }: Pick<ColourFieldsProps, 'form' | 'change'>) {
  const { way } = form;
  return (
    <>
      <Field name="Colour given as">
        <Select label="Colour given as" value={way} options={WAYS} onPick={(next) => change({ way: next })} />
      </Field>
      {way === 'hex' && <TextField name="Colour, sRGB" value={form.hex} onInput={(hex) => change({ hex })} />}
      {(way === 'lab' || way === 'xyz') && (
        <>
          <fieldset class="three">
            <legend class="unseen">{AXES[way].join(', ')}</legend>
            {AXES[way].map((axis, at) => (
              <TextField
                key={axis}
                name={axis}
                value={form[way][at]!}
                figure
                onInput={(text) => change({ [way]: replace(form[way], at, text) })}
              />
            ))}
          </fieldset>
          <Field name="Under which light, for which observer">
            <Select
              label="Under which light, for which observer"
              value={form.viewing}
              options={VIEWINGS.map((viewing) => [viewing, viewing.replace('deg', '°').replace('/', ', ')] as const)}
              onPick={(viewing) => change({ viewing })}
            />
          </Field>
        </>
      )}
      {way !== 'hex' && (
        <Field name="Measured by">
          <Select
            label="Measured by"
            value={form.geometry}
            options={[
              ['', 'Not said'],
              ...GEOMETRIES.map(
                (geometry) => [geometry, [geometry, GEOMETRY_NAMES[geometry]].filter(Boolean).join(', ')] as const,
              ),
            ]}
            onPick={(geometry) => change({ geometry })}
          />
        </Field>
      )}
      {way === 'spectrum' && (
        <>
          <TextField
            name="First wavelength, nm"
            value={form.startNm}
            figure
            onInput={(startNm) => change({ startNm })}
          />
          <TextField name="Step, nm" value={form.stepNm} figure onInput={(stepNm) => change({ stepNm })} />
          <div class="whole">
            <Field name="Reflectance, 0 to 1, one figure a step">
              <textarea
                rows={3}
                value={form.reflectance}
                spellcheck={false}
                onInput={(event) => change({ reflectance: event.currentTarget.value })}
              />
            </Field>
          </div>
        </>
      )}
    </>
  );
}

function replace(three: Three, at: number, text: string): Three {
  const [first, second, third] = three;
  return [at === 0 ? text : first, at === 1 ? text : second, at === 2 ? text : third];
}
