import type { ComponentChildren } from 'preact';
import type { Options, RangeEntry } from '../../server/core/line/line.ts';
import type { FinishAnswer } from '../../server/http/contracts/finish.ts';
import { formatKey } from '../format.ts';
import { commonTexts } from '../texts/common.ts';
import { Chip } from './chip.tsx';
import { toggleOption } from './options-text.ts';

const texts = commonTexts.options;

interface OptionsEditorProps {
  readonly title: string;
  /** Says what applies when nothing is ticked. */
  readonly whole: string;
  readonly options: Options | null | undefined;
  readonly range: readonly RangeEntry[];
  readonly finishes: readonly FinishAnswer[];
  readonly onChange: (options: Options | null) => void;
  readonly onClose: () => void;
}

/** Checkboxes for grades, families, tags and single finishes. Their union is what the slot may take. */
export function OptionsEditor(props: OptionsEditorProps) {
  const { options, range, onChange } = props;
  const codes = new Set(range.map(({ finish }) => finish));
  const offered = range.length > 0 ? props.finishes.filter(({ finish }) => codes.has(finish)) : props.finishes;
  const grades = [...new Set(range.flatMap(({ grade }) => grade ?? []))].sort();
  const families = [...new Set(offered.map(({ family }) => family))];
  const tags = [...new Set([...offered.flatMap(({ tags }) => tags ?? []), ...(options?.tags ?? [])])].sort();
  const toggle = (list: 'grades' | 'families' | 'tags' | 'finishes', word: string) => (on: boolean) =>
    onChange(toggleOption(options, list, word, on));
  return (
    <div class="options">
      <p class="strong">{props.title}</p>
      <p class="small soft measure">{texts.intro(lower(props.whole))}</p>
      {(
        [
          [texts.grades, 'grades', grades],
          [texts.families, 'families', families],
          [texts.tags, 'tags', tags],
        ] as const
      ).map(
        ([name, list, words]) =>
          words.length > 0 && (
            <fieldset key={list}>
              <legend>{name}</legend>
              {words.map((word) => (
                <Tick key={word} on={options?.[list]?.includes(word as never) ?? false} onTick={toggle(list, word)}>
                  {list === 'families' ? formatKey(word) : word}
                </Tick>
              ))}
            </fieldset>
          ),
      )}
      <fieldset>
        <legend>{texts.finishes}</legend>
        <div class="finish-ticks">
          {offered.map(({ finish, name, resolved }) => (
            <Tick key={finish} on={options?.finishes?.includes(finish) ?? false} onTick={toggle('finishes', finish)}>
              <Chip hex={resolved.hex} /> {name} <small class="soft code">{finish}</small>
            </Tick>
          ))}
        </div>
      </fieldset>
      <div class="actions">
        <button type="button" onClick={props.onClose}>
          {commonTexts.close}
        </button>
        <button type="button" disabled={!options} onClick={() => onChange(null)}>
          {props.whole}
        </button>
      </div>
    </div>
  );
}

function Tick({ on, onTick, children }: { on: boolean; onTick: (on: boolean) => void; children: ComponentChildren }) {
  return (
    <label class="tick">
      <input type="checkbox" checked={on} onChange={(event) => onTick(event.currentTarget.checked)} />
      <span>{children}</span>
    </label>
  );
}

function lower(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}
