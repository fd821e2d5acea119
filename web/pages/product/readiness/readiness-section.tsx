import { FindingList } from '../../../parts/finding-list.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { readinessTexts as texts } from '../../../texts/product-readiness.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from './describe-repair.ts';
import { FindingRepairs } from './finding-repairs.tsx';
import { ProposedRepairs } from './proposed-repairs.tsx';
import { TurnControls } from './turn-controls.tsx';

/** Whether the product is ready to deliver: the verdict, the findings, and repairs that resolve them. */
export function ReadinessSection({ model }: { readonly model: ProductModel }) {
  const findings = model.findings.value;
  const verdict = model.product.value?.verdict;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        {verdict && (
          <p>
            <span class="strong verdict">{commonTexts.verdict(verdict)}</span>{' '}
            <span class="small">{describeFindings(findings)}</span>
          </p>
        )}
      </div>
      <ProposedRepairs model={model} />
      {model.survey.value && <TurnControls model={model} />}
      {findings.length > 0 && (
        <>
          <h3 class="over-list">{texts.findings}</h3>
          <FindingList findings={findings} under={(finding) => <FindingRepairs model={model} finding={finding} />} />
        </>
      )}
    </section>
  );
}
