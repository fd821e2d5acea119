import { count, formatBytes } from '../../../format.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { listFacts } from './list-facts.ts';
import { MaterialTable } from './material-table.tsx';
import { WeightTable } from './weight-table.tsx';

/** What the model contains, measured; folded away until somebody wants to know. */
export function ContentsSection({ model }: { readonly model: ProductModel }) {
  const survey = model.survey.value;
  if (!survey) return null;
  const { counts } = survey;
  return (
    <section>
      <details class="fold">
        <summary>
          <h2>What the model contains</h2>{' '}
          <span class="small soft">
            {count(counts.materials, 'material')}, {count(counts.triangles, 'triangle')} in{' '}
            {count(counts.draws, 'draw')}, {count(counts.pieces, 'piece')}, {formatBytes(survey.bytes)}
          </span>
        </summary>
        <MaterialTable survey={survey} />
        <div class="contents">
          <dl class="listed">
            {listFacts(survey, units.value).map(([name, value]) => (
              <div key={name}>
                <dt>{name}</dt>
                <dd>{value}</dd>
              </div>
            ))}
          </dl>
          <WeightTable survey={survey} />
        </div>
      </details>
    </section>
  );
}
