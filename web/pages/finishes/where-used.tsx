import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import type { WhereUsedAnswer } from '../../../server/http/contracts/line.ts';
import { get, getErrorMessage, seg } from '../../api.ts';
import { Notice } from '../../parts/form.tsx';
import { finishesTexts } from '../../texts/finishes.ts';
import { lineTexts } from '../../texts/line.ts';

const texts = finishesTexts.uses;

/** The lines, schedules, deliveries and other finishes that use a finish. */
export function WhereUsed({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const answer = useSignal<WhereUsedAnswer | null>(null);
  const problem = useSignal<string | null>(null);
  useEffect(() => {
    get<WhereUsedAnswer>(`/api/finishes/${seg(finish)}/where-used`).then(
      (found) => {
        answer.value = found;
        problem.value = null;
      },
      (error) => {
        problem.value = getErrorMessage(error);
      },
    );
  }, [finish, revision]);
  const used = answer.value;
  return (
    <section class="uses">
      <h3>{texts.heading}</h3>
      <Notice text={problem.value} />
      {used && <Uses used={used} />}
    </section>
  );
}

function Uses({ used }: { readonly used: WhereUsedAnswer }) {
  const { lines, schedules, deliveries, companionOf } = used;
  if (lines.length + schedules.length + deliveries.length + companionOf.length === 0) {
    return <p class="soft">{texts.none}</p>;
  }
  return (
    <dl class="facts">
      {lines.map((line) => (
        <Row key={line.line} name={texts.line}>
          <a href={`/lines/${seg(line.line)}`}>{line.name}</a>: {describeLine(line)}
        </Row>
      ))}
      {schedules.map(({ product, variants }) => (
        <Row key={product} name={texts.schedule}>
          <a href={`/products/${seg(product)}`}>{product}</a>
          {texts.variants(variants)}
        </Row>
      ))}
      {groupDeliveries(deliveries).map(([product, numbers]) => (
        <Row key={product} name={texts.delivery}>
          <a href={`/products/${seg(product)}`}>{product}</a>
          {texts.deliveryNumbers(numbers)}
        </Row>
      ))}
      {companionOf.map(({ finish, article, positions }) => (
        <Row key={`${finish} ${article}`} name={texts.companionOf}>
          {texts.companion(finish ?? texts.article(article ?? ''), positions)}
        </Row>
      ))}
    </dl>
  );
}

function Row({ name, children }: { readonly name: string; readonly children: ComponentChildren }) {
  return (
    <>
      <dt>{name}</dt>
      <dd>{children}</dd>
    </>
  );
}

function describeLine({ status, positions, rules, replaces }: WhereUsedAnswer['lines'][number]): string {
  return [
    status === null ? texts.notInRange : lineTexts.statuses[status].toLowerCase(),
    positions.length > 0 && texts.optionAt(positions),
    replaces.length > 0 && texts.replaces(replaces),
    ...rules.map((rule) => rule.replace(/\.$/, '')),
  ]
    .filter(Boolean)
    .join('; ');
}

function groupDeliveries(deliveries: WhereUsedAnswer['deliveries']): [string, number[]][] {
  const byProduct = new Map<string, number[]>();
  for (const { product, delivery } of deliveries) {
    byProduct.set(product, [...(byProduct.get(product) ?? []), delivery]);
  }
  return [...byProduct];
}
