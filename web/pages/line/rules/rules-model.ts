import { batch, type Signal, signal } from '@preact/signals';
import { canonical } from '../../../../server/core/canonical.ts';
import type { Line, Rule } from '../../../../server/core/line/line.ts';
import type { GivenRule } from '../../../../server/core/line/rules.ts';
import type { ProductAnswer, SlotListAnswer } from '../../../../server/http/contracts/product.ts';
import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { ApiProblem, get, getErrorMessage, seg } from '../../../api.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineWrites, RulesChange } from '../line-writes.ts';
import { type RuleForm, readRuleIndex, toGivenRule } from './rule-form.ts';

/** The open rule: its index in the list (one past the last for a new rule), and its form. */
interface OpenRule {
  readonly at: number;
  readonly form: RuleForm;
  /** The rule when it was opened, undefined for a new one: someone else may have moved, changed or deleted it. */
  readonly before: Rule | undefined;
}

/** Edits the rules of a line. They are saved as a whole; an error shows at the rule that it is about. */
export function createRulesModel(
  writes: Pick<LineWrites, 'editRules'>,
  line: Signal<Line | null>,
  onStored: (meanwhile: readonly string[]) => void,
) {
  const open = signal<OpenRule | null>(null);
  const problem = signal<{ readonly at: number; readonly message: string } | null>(null);
  const busy = signal(false);

  async function put(change: RulesChange, at: number): Promise<void> {
    busy.value = true;
    problem.value = null;
    try {
      onStored(await writes.editRules(change));
      open.value = null;
    } catch (error) {
      const about = error instanceof ApiProblem ? readRuleIndex(error.answer.where) : null;
      problem.value = { at: about ?? at, message: getErrorMessage(error) };
    } finally {
      busy.value = false;
    }
  }

  /** Saves the open rule. */
  async function save(): Promise<void> {
    if (!open.value || !line.value) return;
    const { at, form, before } = open.value;
    await put((rules) => replaceRule(rules, before, [toGivenRule(form)]), at);
  }

  async function remove(at: number): Promise<void> {
    const before = open.value?.at === at ? open.value.before : line.value?.rules[at];
    if (before) await put((rules) => replaceRule(rules, before, []), at);
  }

  function openAt(at: number, form: RuleForm): void {
    // an open rule keeps its original, even if the list has changed
    const before = open.value?.at === at ? open.value.before : line.value?.rules[at];
    batch(() => {
      open.value = { at, form, before };
      problem.value = null;
    });
  }

  function close(): void {
    batch(() => {
      open.value = null;
      problem.value = null;
    });
  }

  return { open, problem, busy, save, remove, openAt, close };
}

/**
 * Replaces a rule, wherever it is in the list by now. A new rule goes to the end.
 * @throws Error if someone else has changed the rule
 */
export function replaceRule(
  rules: readonly Rule[],
  before: Rule | undefined,
  after: readonly GivenRule[],
): readonly GivenRule[] {
  if (!before) return [...rules, ...after];
  const at = rules.findIndex((rule) => canonical(rule) === canonical(before));
  if (at < 0) throw new Error(lineTexts.rules.changedMeanwhile);
  return rules.toSpliced(at, 1, ...(after as readonly Rule[]));
}

/** The effect of a line's rules on one of its products. */
export interface Effect {
  readonly product: ProductAnswer;
  /** Null while the service is counting. */
  readonly counted: CountAnswer | null;
  /** The last count before the changes that are being counted; null at first, and if it is the same. */
  readonly before: CountAnswer | null;
  /** Positions of its slots. */
  readonly positions: readonly string[];
  readonly problem: string | null;
}

/** Counts the combinations that options and rules allow, product by product, after every change to the line. */
export function createEffectsModel() {
  const effects = signal<readonly Effect[]>([]);
  let run = 0;

  async function load(products: readonly ProductAnswer[]): Promise<void> {
    const thisRun = ++run;
    const known = new Map(effects.value.map((effect) => [effect.product.code, effect]));
    effects.value = products
      .filter(({ model }) => model !== null)
      .map((product) => {
        const previous = known.get(product.code);
        return {
          product,
          counted: null,
          // a change that comes while the service counts keeps the count before it
          before: previous?.counted ?? previous?.before ?? null,
          positions: previous?.positions ?? [],
          problem: null,
        };
      });
    // one at a time, since a count may take the service a second
    for (const { product } of effects.value) {
      const path = `/api/products/${seg(product.code)}`;
      let change: Partial<Effect>;
      try {
        const [counted, { slots }] = await Promise.all([
          get<CountAnswer>(`${path}/schedule/count?explain=1`),
          get<SlotListAnswer>(`${path}/slots`),
        ]);
        const changing = slots.filter(({ fixed, primitives }) => !fixed && primitives > 0);
        change = { counted, positions: [...new Set(changing.flatMap(({ position }) => position ?? []))] };
      } catch (error) {
        change = { problem: getErrorMessage(error) };
      }
      // the line has changed since this run began, and a newer run counts again
      if (thisRun !== run) return;
      effects.value = effects.value.map((effect) => {
        if (effect.product.code !== product.code) return effect;
        const next = { ...effect, ...change };
        return isSame(next.counted, next.before) ? { ...next, before: null } : next;
      });
    }
  }

  return { effects, load };
}

function isSame(a: CountAnswer | null, b: CountAnswer | null): boolean {
  if (!a || !b) return true;
  if (a.exact !== b.exact) return false;
  return a.exact && b.exact ? a.count === b.count : true;
}
