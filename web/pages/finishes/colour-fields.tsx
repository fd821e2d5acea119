import { type ColourSource, GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import type { ResolvedFinish } from '../../../server/core/finish/resolve-finish.ts';
import { Field, Select, TextField } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import type { ColourForm, ColourWay, Three } from './colour-form.ts';
import { readTriplet } from './read-triplet.ts';

const texts = finishesTexts.colour;

interface ColourFieldsProps {
  readonly form: ColourForm;
  readonly change: (part: Partial<ColourForm>) => void;
  /** The resolved form; null while it is invalid. */
  readonly resolved: Pick<ResolvedFinish, 'maps' | 'colourFrom' | 'hex'> | null;
}

const SOURCES: readonly ColourSource[] = ['specification', 'map'];
const WAYS: readonly ColourWay[] = ['hex', 'lab', 'xyz', 'spectrum'];
const AXES = { lab: ['L*', 'a*', 'b*'], xyz: ['X', 'Y', 'Z'] } as const;
const LETTERS = { lab: 'Lab', xyz: 'XYZ' } as const;
const VIEWINGS = ILLUMINANTS.toReversed().flatMap((illuminant) =>
  OBSERVERS.map((observer) => `${illuminant}/${observer}`),
);

/** The colour as the maker states it, with the measuring conditions that define its values. */
export function ColourFields({ form, change, resolved }: ColourFieldsProps) {
  const from = form.colourFrom || resolved?.colourFrom;
  const hasMap = from === 'map' || resolved?.maps.colour !== undefined;
  return (
    <>
      {hasMap && (
        <Field name={texts.source}>
          <Select
            label={texts.source}
            value={from ?? 'specification'}
            options={SOURCES.map((source) => [source, texts.sources[source]] as const)}
            onPick={(colourFrom) => change({ colourFrom })}
          />
        </Field>
      )}
      {from === 'map' ? (
        <p class="whole small soft">{texts.meanOfMap(resolved?.hex ?? null)}</p>
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
      <Field name={texts.givenAs}>
        <Select
          label={texts.givenAs}
          value={way}
          options={WAYS.map((each) => [each, texts.ways[each]] as const)}
          onPick={(next) => change({ way: next })}
        />
      </Field>
      {way === 'hex' && <TextField name={texts.hex} value={form.hex} onInput={(hex) => change({ hex })} />}
      {(way === 'lab' || way === 'xyz') && (
        <>
          <fieldset
            class="three"
            onPaste={(event) => {
              const three = readTriplet(event.clipboardData?.getData('text') ?? '', LETTERS[way]);
              if (!three) return;
              event.preventDefault();
              change({ [way]: three });
            }}
            onChange={(event) => {
              // all three may also be typed into one field
              const three = readTriplet((event.target as HTMLInputElement).value, LETTERS[way]);
              if (three) change({ [way]: three });
            }}
          >
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
            <p class="all small soft">{texts.pasteHint(AXES[way].join(', '))}</p>
          </fieldset>
          <Field name={texts.viewing}>
            <Select
              label={texts.viewing}
              value={form.viewing}
              options={VIEWINGS.map((viewing) => [viewing, viewing.replace('deg', '°').replace('/', ', ')] as const)}
              onPick={(viewing) => change({ viewing })}
            />
          </Field>
        </>
      )}
      {way !== 'hex' && (
        <Field name={texts.geometry}>
          <Select
            label={texts.geometry}
            value={form.geometry}
            options={[
              ['', commonTexts.notStated],
              ...GEOMETRIES.map((geometry) => [geometry, finishesTexts.geometries[geometry]] as const),
            ]}
            onPick={(geometry) => change({ geometry })}
          />
        </Field>
      )}
      {way === 'spectrum' && (
        <>
          <TextField name={texts.startNm} value={form.startNm} figure onInput={(startNm) => change({ startNm })} />
          <TextField name={texts.stepNm} value={form.stepNm} figure onInput={(stepNm) => change({ stepNm })} />
          <div class="whole">
            <Field name={texts.reflectance}>
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
