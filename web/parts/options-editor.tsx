import type { ComponentChildren } from 'preact';
import type { Options, RangeEntry } from '../../server/core/line/line.ts';
import { capitalise } from '../../server/core/texts/format-text.ts';
import type { FinishAnswer } from '../../server/http/contracts/finish.ts';
import { formatKey } from '../format.ts';
import { commonTexts } from '../texts/common.ts';
import { Chip } from './picture.tsx';

const texts = commonTexts.options;

interface OptionsEditorProps {
  readonly title: string;
  /** The options that apply without a tick, as a text. */
  readonly otherwise: string;
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
      <p class="small soft measure">{texts.intro(lower(props.otherwise))}</p>
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
          {props.otherwise}
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

/** Longer lists of codes end in a count of the rest. */
const NAMED = 3;

/**
 * Options in words: “Grades A, B; wood; OAK-902 and 4 more”.
 * @param position label of the position whose options apply by default; null where the whole range does
 */
export function describeOptions(options: Options | null | undefined, position: string | null): string {
  const parts: string[] = [];
  if (options?.grades?.length) {
    parts.push(texts.gradeList(options.grades));
  }
  if (options?.families?.length)
    parts.push(options.families.map((family) => formatKey(family).toLowerCase()).join(', '));
  if (options?.tags?.length) parts.push(texts.tagList(options.tags));
  if (options?.finishes?.length) {
    parts.push(texts.codeList(options.finishes.slice(0, NAMED), options.finishes.length - NAMED));
  }
  if (parts.length > 0) {
    return capitalise(parts.join('; '));
  }
  if (options && Object.values(options).some((list) => list !== undefined)) return texts.nothing;
  return position === null ? texts.wholeRange : texts.sameAs(position);
}

type List = 'grades' | 'families' | 'tags' | 'finishes';

/** Adds a word to one of the lists, or removes it. Empty lists are dropped; without any list the result is null. */
export function toggleOption(
  options: Options | null | undefined,
  list: List,
  word: string,
  on: boolean,
): Options | null {
  const before: readonly string[] = options?.[list] ?? [];
  const after = on ? [...before.filter((other) => other !== word), word] : before.filter((other) => other !== word);
  const { [list]: _, ...others } = options ?? {};
  const next = after.length > 0 ? { ...others, [list]: after } : others;
  return Object.keys(next).length > 0 ? (next as Options) : null;
}
