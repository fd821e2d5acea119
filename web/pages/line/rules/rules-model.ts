import { batch, type Signal, signal } from '@preact/signals';
import type { Line } from '../../../../server/core/line/line.ts';
import type { GivenRule } from '../../../../server/core/line/read-rules.ts';
import type { RulesAnswer } from '../../../../server/http/answers.ts';
import { ApiProblem, call, say } from '../../../api.ts';
import { type RuleForm, readPlaceOfRule, toGivenRule } from './rule-form.ts';

/** The rule that is open: its place in the list, or the place behind the last for a new one; and what its selects say. */
export interface OpenRule {
  readonly at: number;
  readonly form: RuleForm;
}

/** Changing the rules of a line; they are stored whole, and an error stands at the rule it is about. */
export function createRulesModel(path: string, line: Signal<Line | null>, onStored: () => void) {
  const open = signal<OpenRule | null>(null);
  const trouble = signal<{ readonly at: number; readonly message: string } | null>(null);
  const busy = signal(false);

  async function put(rules: readonly GivenRule[], at: number): Promise<boolean> {
    busy.value = true;
    trouble.value = null;
    try {
      const { data } = await call<RulesAnswer>('PUT', `${path}/rules`, { json: { rules } });
      if (line.value) line.value = { ...line.value, rules: data.rules };
      onStored();
      return true;
    } catch (error) {
      const about = error instanceof ApiProblem ? readPlaceOfRule(error.answer.where) : null;
      trouble.value = { at: about ?? at, message: say(error) };
      return false;
    } finally {
      busy.value = false;
    }
  }

  /** Stores what is open in its place. */
  async function store(): Promise<void> {
    if (!open.value || !line.value) return;
    const { at, form } = open.value;
    const rules: GivenRule[] = [...line.value.rules];
    rules[at] = toGivenRule(form);
    if (await put(rules, at)) open.value = null;
  }

  async function remove(at: number): Promise<void> {
    if (!line.value) return;
    const rules = line.value.rules.filter((_, index) => index !== at);
    if (await put(rules, at)) open.value = null;
  }

  function openAt(at: number, form: RuleForm): void {
    batch(() => {
      open.value = { at, form };
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

export type RulesModel = ReturnType<typeof createRulesModel>;
