import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import type { FinishAnswer } from '../../../server/http/answers.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import type { ColourWay, FinishForm } from './finish-form.ts';

interface ColourFieldsProps {
  readonly form: FinishForm;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
  readonly change: (part: Partial<FinishForm>) => void;
}

const AXES = ['L*', 'a*', 'b*'] as const;
const VIEWINGS = ILLUMINANTS.toReversed().flatMap((illuminant) =>
  OBSERVERS.map((observer) => `${illuminant}/${observer}`),
);
const GEOMETRY_NAMES = { 'di:8': 'sphere, reflection included', 'de:8': 'sphere, reflection excluded', '45:0': '' };

/** The colour as the maker states it: hex, or Lab with all that makes its figures mean something. */
export function ColourFields({ form, before, change }: ColourFieldsProps) {
  const measured = before !== null && !('hex' in before.colour) && !('lab' in before.colour);
  const ways: [ColourWay, string][] = [
    ['hex', 'sRGB hex'],
    ['lab', 'CIE Lab, measured'],
    ...(measured
      ? [['measured', `${'xyz' in before.colour ? 'XYZ' : 'A spectrum'}, as handed in`] as [ColourWay, string]]
      : []),
  ];
  return (
    <>
      <Field name="Colour given as">
        <Select label="Colour given as" value={form.way} options={ways} onPick={(way) => change({ way })} />
      </Field>
      {form.way === 'hex' && (
        <Field name="Colour, sRGB">
          <input value={form.hex} spellcheck={false} onInput={(event) => change({ hex: event.currentTarget.value })} />
        </Field>
      )}
      {form.way === 'lab' && (
        <>
          {AXES.map((axis, at) => (
            <Field key={axis} name={axis}>
              <input
                value={form.lab[at]}
                inputMode="decimal"
                onInput={({ currentTarget: { value } }) => {
                  const [l, a, b] = form.lab;
                  change({ lab: at === 0 ? [value, a, b] : at === 1 ? [l, value, b] : [l, a, value] });
                }}
              />
            </Field>
          ))}
          <Field name="Under which light, for which observer">
            <Select
              label="Under which light, for which observer"
              value={form.viewing}
              options={VIEWINGS.map((viewing) => [viewing, viewing.replace('deg', '°').replace('/', ', ')] as const)}
              onPick={(viewing) => change({ viewing })}
            />
          </Field>
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
        </>
      )}
    </>
  );
}
