import { batch, type Signal, signal } from '@preact/signals';
import { canonical } from '../../../../server/core/canonical.ts';
import type { Line, Rule } from '../../../../server/core/line/line.ts';
import type { GivenRule } from '../../../../server/core/line/read-rules.ts';
import { ApiProblem, getErrorMessage } from '../../../api.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineWrites, RulesChange } from '../line-writes.ts';
import { type RuleForm, readRuleIndex, toGivenRule } from './rule-form.ts';

/** The open rule: its index in the list (one past the last for a new rule), and its form. */
export interface OpenRule {
  readonly at: number;
  readonly form: RuleForm;
  /** The rule when it was opened, undefined for a new one: someone else may move, change or delete it meanwhile. */
  readonly before: Rule | undefined;
}

/** Edits the rules of a line. They are saved as a whole; an error shows at the rule that it is about. */
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
      const about = error instanceof ApiProblem ? readRuleIndex(error.answer.where) : null;
      trouble.value = { at: about ?? at, message: getErrorMessage(error) };
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
    // an open rule keeps its original, whatever the list holds by now
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

  return { open, trouble, busy, save, remove, openAt, close };
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

export type RulesModel = ReturnType<typeof createRulesModel>;
