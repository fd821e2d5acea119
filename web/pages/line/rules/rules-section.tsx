import { Fragment } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import { listNames, readCount } from '../../../format.ts';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineModel } from '../line-model.ts';
import { RuleEditor, toRuleSentence } from './rule-editor.tsx';
import { createForm, toForm } from './rule-form.ts';
import type { Effect } from './rules-model.ts';

const texts = lineTexts.rules;
const effectTexts = lineTexts.effects;

/** The rules of the line, each a sentence that opens into its form, and their effect on each product. */
export function RulesSection({ model }: { readonly model: LineModel }) {
  const { rules } = model;
  const line = model.line.value!;
  const open = rules.open.value?.at ?? null;
  const adding = open === line.rules.length;
  const problem = rules.problem.value;
  const place = useRef<HTMLElement>(null);
  useFocusAfter(place, open);
  return (
    <section ref={place}>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">
          {line.positions.length < 2 ? texts.tooFewPositions : line.rules.length === 0 ? texts.none : texts.note}
        </p>
      </div>
      {(line.rules.length > 0 || adding) && (
        <table class="rules">
          <thead>
            <tr>
              <th scope="col">{texts.number}</th>
              <th scope="col">{texts.rule}</th>
              <th scope="col">{texts.appliesTo}</th>
            </tr>
          </thead>
          <tbody>
            {line.rules.map((rule, at) => (
              <Fragment key={at}>
                <tr>
                  <td>{at + 1}</td>
                  <th scope="row">
                    <button
                      type="button"
                      id={`rule-${at}`}
                      class="rule"
                      aria-expanded={open === at}
                      onClick={() => (open === at ? rules.close() : rules.openAt(at, toForm(rule)))}
                    >
                      {toRuleSentence(rule, model)}
                    </button>
                    {problem?.at === at && (
                      <p class="small" role="alert">
                        {problem.message}
                      </p>
                    )}
                  </th>
                  <td>{listAffected(model, at)}</td>
                </tr>
                {open === at && <OpenRuleRow model={model} at={at} />}
              </Fragment>
            ))}
            {adding && <OpenRuleRow model={model} at={line.rules.length} />}
          </tbody>
        </table>
      )}
      {problem && problem.at >= line.rules.length && (
        <p class="small" role="alert">
          {problem.message}
        </p>
      )}
      {line.positions.length >= 2 && !adding && (
        <p class="total no-print">
          <button
            type="button"
            onClick={() => rules.openAt(line.rules.length, createForm(line, model.byFoldedCode.value))}
          >
            {texts.add}
          </button>
        </p>
      )}
      <EffectsTable model={model} />
    </section>
  );
}

/** A rule that is saved, deleted or closed takes its form along: the focus goes to the rule that is then in its place. */
function useFocusAfter(place: { readonly current: HTMLElement | null }, open: number | null): void {
  const before = useRef(open);
  useLayoutEffect(() => {
    const was = before.current;
    before.current = open;
    const isLost = document.activeElement === null || document.activeElement === document.body;
    if (was === null || open !== null || !isLost) return;
    const rules = place.current!.querySelectorAll<HTMLElement>('button.rule');
    (rules[was] ?? place.current!.querySelector<HTMLElement>('.total button') ?? rules[was - 1])?.focus();
  }, [open]);
}

function OpenRuleRow({ model, at }: { readonly model: LineModel; readonly at: number }) {
  return (
    <tr class="opened no-print">
      <td colSpan={3}>
        <RuleEditor model={model} at={at} />
      </td>
    </tr>
  );
}

/** Names of the products that a rule applies to. */
function listAffected(model: LineModel, at: number): string {
  const effects = model.effects.effects.value;
  if (effects.some(({ counted, problem }) => counted === null && problem === null)) return texts.counting;
  const bound = effects.filter(({ counted }) => counted?.effects?.binding.includes(at));
  return bound.length > 0 ? listNames(bound.map(({ product }) => product.name)) : texts.noProduct;
}

/** For each product: the number of combinations that options and rules allow, and the finishes that are in none. */
function EffectsTable({ model }: { readonly model: LineModel }) {
  const effects = model.effects.effects.value;
  if (effects.length === 0) return null;
  return (
    <div class="scroll">
      <table class="effects">
        <thead>
          <tr>
            <th scope="col">{commonTexts.product}</th>
            <th scope="col">{effectTexts.combinations}</th>
            <th scope="col">{effectTexts.invalidVariants}</th>
            <th scope="col">{effectTexts.unusable}</th>
          </tr>
        </thead>
        <tbody>
          {effects.map((effect) => (
            <EffectRow key={effect.product.code} effect={effect} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function EffectRow({ effect: { product, counted, before, problem } }: { readonly effect: Effect }) {
  const effects = counted?.effects;
  return (
    <tr>
      <th scope="row">
        {product.name} <small class="soft code">{product.code}</small>
      </th>
      {!counted || !effects ? (
        <td colSpan={3} class="soft">
          {problem ?? effectTexts.counting}
        </td>
      ) : (
        <>
          <td>
            {commonTexts.combinations(readCount(counted))}
            <span class="effects-of small soft">
              {effectTexts.withoutRules(formatNumber(BigInt(effects.unruled)))}
              {before && effectTexts.before(commonTexts.combinations(readCount(before)))}
            </span>
          </td>
          <td>{effectTexts.breaking(effects.breaking, product.variants)}</td>
          <td>
            {effects.none ??
              (effects.impossible.length === 0 ? (
                effectTexts.none
              ) : (
                <ul class="reasons">
                  {effects.impossible.map(({ slot, label, finish, because }) => (
                    <li key={`${slot} ${finish}`}>
                      <span class="strong">{effectTexts.choice(label, finish)}</span> {because}
                    </li>
                  ))}
                  {effects.more > 0 && <li>{effectTexts.more(effects.more)}</li>}
                </ul>
              ))}
          </td>
        </>
      )}
    </tr>
  );
}
