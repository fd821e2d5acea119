import type { UsdRow, UsdSet } from '../../core/delivery/usd-form.ts';
import { PrimNames } from '../../usd/prim-names.ts';
import { quote } from '../../usd/usda-text.ts';
import type { KnownSurface } from './collect-surfaces.ts';
import { choiceKey } from './find-slots.ts';

/** The variant set of the schedule's rows. */
const ROWS = 'schedule';

interface SlotSet {
  readonly slot: string;
  readonly name: string;
  /** Names of its variants by the folded code of the finish; `''` for none. */
  readonly variants: ReadonlyMap<string, string>;
  /** Codes as the schedule has them, by the same keys. */
  readonly codes: ReadonlyMap<string, string>;
  readonly bindings: { readonly prim: string; readonly byChoice: ReadonlyMap<string, KnownSurface> }[];
}

/**
 * The variant sets of a product: one for each slot, so that slots switch independently, and one for the rows of the schedule. A row
 * only selects variants of slots, and selections that a user makes on the product are stronger, so a row can be changed slot by slot.
 */
export class VariantSets {
  readonly #slots: readonly SlotSet[];
  readonly #rowsName: string;
  readonly #rows: readonly UsdRow[];
  readonly #rowNames: readonly string[];
  readonly #first: number;

  constructor(slots: readonly string[], rows: readonly UsdRow[], first: number) {
    const names = new PrimNames();
    this.#rowsName = names.take(ROWS, ROWS);
    this.#slots = slots.map((slot) => makeSet(slot, names.take(slot, 'slot'), rows));
    const rowNames = new PrimNames();
    this.#rows = rows;
    this.#rowNames = rows.map(({ code }) => rowNames.take(code, 'row'));
    this.#first = first;
  }

  /** Binds the surfaces of a prim by the choice of a slot. */
  bind(slot: string, prim: string, byChoice: ReadonlyMap<string, KnownSurface>): void {
    this.#slots.find((set) => set.slot === slot)!.bindings.push({ prim, byChoice });
  }

  list(): UsdSet[] {
    const entries = (set: SlotSet) => [...set.variants].map(([key, name]) => [set.codes.get(key)!, name] as const);
    return [
      {
        set: this.#rowsName,
        slot: null,
        variants: Object.fromEntries(this.#rows.map(({ code }, at) => [code, this.#rowNames[at]!])),
      },
      ...this.#slots.map((set) => ({ set: set.name, slot: set.slot, variants: Object.fromEntries(entries(set)) })),
    ];
  }

  /** Metadata of the product's prim: its sets, the row that it shows first, and the codes behind the names. */
  writeMetadata(): string {
    const dictionary = (name: string, entries: readonly (readonly [string, string])[]) =>
      [
        `        dictionary ${name} = {\n`,
        ...entries.map(([key, code]) => `            string ${key} = ${quote(code)}\n`),
        '        }\n',
      ].join('');
    const codes = this.#slots.map((set) =>
      dictionary(
        set.name,
        [...set.variants].map(([key, name]) => [name, set.codes.get(key)!] as const),
      ),
    );
    const rows = dictionary(
      this.#rowsName,
      this.#rows.map(({ code }, at) => [this.#rowNames[at]!, code] as const),
    );
    const names = [this.#rowsName, ...this.#slots.map(({ name }) => name)];
    return [
      `    customData = {\n${rows}${codes.join('')}    }\n`,
      `    variants = {\n        string ${this.#rowsName} = "${this.#rowNames[this.#first]}"\n    }\n`,
      `    prepend variantSets = [${names.map((name) => `"${name}"`).join(', ')}]\n`,
    ].join('');
  }

  *writeRows(): Generator<string> {
    yield `    variantSet "${this.#rowsName}" = {\n`;
    for (const [at, row] of this.#rows.entries()) {
      const chosen = this.#slots.map(
        (set) => `                string ${set.name} = "${set.variants.get(choiceKey(row, set.slot))}"\n`,
      );
      yield `        "${this.#rowNames[at]}" (\n            variants = {\n${chosen.join('')}            }\n        ) {\n        }\n`;
    }
    yield '    }\n';
  }

  *writeSlots(): Generator<string> {
    for (const { name, variants, bindings } of this.#slots) {
      yield `    variantSet "${name}" = {\n`;
      for (const [choice, variant] of variants) {
        yield `        "${variant}" {\n            over "Geometry"\n            {\n`;
        for (const { prim, byChoice } of bindings) {
          const bound = byChoice.get(choice);
          if (bound)
            yield `                over "${prim}"\n                {\n                    rel material:binding = <${bound.path}>\n                }\n`;
        }
        yield '            }\n        }\n';
      }
      yield '    }\n';
    }
  }
}

export function* writeVariantSets(sets: VariantSets): Generator<string> {
  yield* sets.writeRows();
  yield* sets.writeSlots();
}

/** Name of the variant in which a slot keeps the materials of the model. */
const AS_SUPPLIED = 'as_supplied';

function makeSet(slot: string, name: string, rows: readonly UsdRow[]): SlotSet {
  const names = new PrimNames();
  const variants = new Map<string, string>();
  const codes = new Map<string, string>();
  for (const row of rows) {
    const key = choiceKey(row, slot);
    if (variants.has(key)) continue;
    const code = row.choices[slot] ?? '';
    variants.set(key, names.take(code || AS_SUPPLIED, 'finish'));
    codes.set(key, code);
  }
  return { slot, name, variants, codes, bindings: [] };
}
