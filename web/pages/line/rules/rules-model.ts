import { batch, type Signal, signal } from '@preact/signals';
import { canonical } from '../../../../server/core/canonical.ts';
import type { Line, Rule } from '../../../../server/core/line/line.ts';
import type { GivenRule } from '../../../../server/core/line/read-rules.ts';
import { ApiProblem, getErrorMessage } from '../../../api.ts';
import type { LineWrites, RulesChange } from '../line-writes.ts';
import { type RuleForm, readPlaceOfRule, toGivenRule } from './rule-form.ts';

/** The rule that is open: its place in the list, or the place behind the last for a new one; and what its selects say. */
export interface OpenRule {
  readonly at: number;
  readonly form: RuleForm;
  /** The rule as it was when it was opened, none for a new one: somebody else may move, change or remove it meanwhile. */
  readonly before: Rule | undefined;
}

/** Changing the rules of a line; they are stored whole, and an error stands at the rule it is about. */
export function createRulesModel(
  writes: Pick<LineWrites, 'editRules'>,
  line: Signal<Line | null>,
  onStored: (meanwhile: readonly string[]) => void,
) {
  const open = signal<OpenRule | null>(null);
  const trouble = signal<{ readonly at: number; readonly message: string } | null>(null);
  const busy = signal(false);

  async function put(change: RulesChange, at: number): Promise<void> {
    busy.value = true;
    trouble.value = null;
    try {
      onStored(await writes.editRules(change));
      open.value = null;
    } catch (error) {
      const about = error instanceof ApiProblem ? readPlaceOfRule(error.answer.where) : null;
      trouble.value = { at: about ?? at, message: getErrorMessage(error) };
    } finally {
      busy.value = false;
    }
  }

  /** Stores what is open in its place. */
  async function store(): Promise<void> {
    if (!open.value || !line.value) return;
    const { at, form, before } = open.value;
    await put((rules) => replaceRule(rules, before, [toGivenRule(form)]), at);
  }

  async function remove(at: number): Promise<void> {
    const before = open.value?.at === at ? open.value.before : line.value?.rules[at];
    if (before) await put((rules) => replaceRule(rules, before, []), at);
  }

  function openAt(at: number, form: RuleForm): void {
    // while a rule stays open it is the one that it was
    const before = open.value?.at === at ? open.value.before : line.value?.rules[at];
    batch(() => {
      open.value = { at, form, before };
      trouble.value = null;
    });
  }

  function close(): void {
    batch(() => {
      open.value = null;
      trouble.value = null;
    });
  }

  return { open, trouble, busy, store, remove, openAt, close };
}

/**
 * The rules with others in the place of one, wherever it stands by now; at the end where there was none.
 * @throws Error where somebody else has changed it
 */
export function replaceRule(
  rules: readonly Rule[],
  before: Rule | undefined,
  after: readonly GivenRule[],
): readonly GivenRule[] {
  if (!before) return [...rules, ...after];
  const at = rules.findIndex((rule) => canonical(rule) === canonical(before));
  if (at < 0) throw new Error('Somebody else has changed or removed this rule; the list shows what stands now.');
  return rules.toSpliced(at, 1, ...(after as readonly Rule[]));
}

export type RulesModel = ReturnType<typeof createRulesModel>;
