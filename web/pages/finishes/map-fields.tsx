import { useEffect, useRef } from 'preact/hooks';
import type { Tile } from '../../../server/core/finish/finish.ts';
import type { MapUse } from '../../../server/core/finish/map-image.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FileAnswer } from '../../../server/http/contracts/finish-uploads.ts';
import { formatBytes } from '../../format.ts';
import { FindingList } from '../../parts/finding-list.tsx';
import { Notice, TextField } from '../../parts/form.tsx';
import { finishesTexts } from '../../texts/finishes.ts';
import type { FinishForm } from './finish-form.ts';
import type { FinishesModel } from './finishes-model.ts';
import { describeArticle } from './group-finishes.ts';
import { getImageAddress, IMAGE_ENDINGS, type MapsModel } from './maps-model.ts';
import { RepeatDrawing } from './repeat-drawing.tsx';

const texts = finishesTexts.maps;
const USES: readonly MapUse[] = ['colour', 'normal', 'roughness'];

/** The map that shows the repeat: the first available one, in order of how visible its pattern is. */
const DRAWN: readonly MapUse[] = ['colour', 'roughness', 'normal'];

/** The maps with their findings, the repeat, and the properties that come from the article. */
export function MapFields({ model }: { readonly model: FinishesModel }) {
  const form = model.form.value;
  const article = model.articles.value.find((candidate) => candidate.article === form.article) ?? null;
  const draft = model.shown.value;
  const files = model.maps.files.value;
  useEffect(() => {
    void model.maps.loadFacts([...Object.values(form.maps), ...Object.values(article?.maps ?? {})]);
  }, [model, form.maps, article]);
  const tile = draft?.resolved.tile ?? null;
  const drawn = DRAWN.map((use) => form.maps[use] || article?.maps?.[use]).find(
    (sha256) => sha256 && isShowable(files.get(sha256)),
  );
  return (
    <div class="whole maps-sheet">
      {article && (
        <div class="measure">
          <p>{texts.provided(article.name)}</p>
          {describeArticle(article).map((line) => (
            <p key={line} class="soft">
              {line}
            </p>
          ))}
        </div>
      )}
      <ul class="maps">
        {USES.map((use) => (
          <MapRow
            key={use}
            use={use}
            maps={model.maps}
            own={form.maps[use]}
            shared={article?.maps?.[use] ?? ''}
            onChoose={(sha256) => model.change({ maps: { ...model.form.value.maps, [use]: sha256 } })}
          />
        ))}
      </ul>
      <Notice text={model.maps.problem.value} />
      <div class={tile ? 'repeat-sheet' : ''}>
        <TileFields form={form} tile={tile} change={model.change} />
        {tile && <RepeatDrawing tile={tile} image={drawn ? getImageAddress(drawn) : null} />}
      </div>
    </div>
  );
}

interface TileFieldsProps {
  readonly form: FinishForm;
  /** The repeat that applies; its values fill empty fields. */
  readonly tile: Tile | null;
  readonly change: FinishesModel['change'];
}

function TileFields({ form, tile, change }: TileFieldsProps) {
  const placeholder = (value: number | undefined) => (value === undefined ? '' : String(value));
  return (
    <div class={tile ? 'tile' : 'form'}>
      <TextField
        name={texts.repeatWidth}
        value={form.widthMm}
        placeholder={placeholder(tile?.widthMm)}
        figure
        onInput={(widthMm) => change({ widthMm })}
      />
      <TextField
        name={texts.repeatHeight}
        value={form.heightMm}
        placeholder={placeholder(tile?.heightMm)}
        figure
        onInput={(heightMm) => change({ heightMm })}
      />
      <TextField
        name={texts.direction}
        value={form.grainDegrees}
        placeholder={tile ? placeholder(tile.grainDegrees ?? 0) : ''}
        figure
        onInput={(grainDegrees) => change({ grainDegrees })}
      />
      {!tile && <p class="whole small soft">{texts.noRepeat}</p>}
    </div>
  );
}

interface MapRowProps {
  readonly use: MapUse;
  readonly maps: MapsModel;
  /** Digest of the finish's own image; empty for none. */
  readonly own: string;
  /** Digest of the article's image; empty for none. */
  readonly shared: string;
  readonly onChoose: (sha256: string) => void;
}

function MapRow({ use, maps, own, shared, onChoose }: MapRowProps) {
  const field = useRef<HTMLInputElement>(null);
  const sha256 = own || shared;
  const file = maps.files.value.get(sha256);
  const title = texts.names[use];
  const source = !sha256 ? texts.none : own ? texts.ownImage : texts.fromArticle;
  const upload = async (chosen: File) => {
    const stored = await maps.upload(chosen);
    if (stored) onChoose(stored.sha256);
  };
  return (
    <li class={sha256 ? '' : 'none'}>
      {isShowable(file) ? (
        <img src={getImageAddress(sha256)} alt={`${title}, ${source}`} />
      ) : (
        <span class="chip none" aria-hidden="true" />
      )}
      <div>
        <p>
          <span class="strong">{title}</span>
          <span class="soft">{`: ${source}`}</span>
        </p>
        {file && <p class="small soft">{describeFile(file)}</p>}
        <p class="actions no-print">
          <button type="button" disabled={maps.busy.value} onClick={() => field.current?.click()}>
            {sha256 ? texts.replaceImage : texts.chooseImage}
            <span class="unseen"> {texts.forMap(title)}</span>
          </button>
          {own && (
            <button type="button" onClick={() => onChoose('')}>
              {shared ? texts.useArticle : texts.removeImage}
              <span class="unseen"> {texts.forMap(title)}</span>
            </button>
          )}
        </p>
        <input
          ref={field}
          type="file"
          class="unseen"
          tabIndex={-1}
          aria-label={texts.file(title)}
          accept={IMAGE_ENDINGS}
          onChange={(event) => {
            const chosen = event.currentTarget.files?.[0];
            event.currentTarget.value = '';
            if (chosen) void upload(chosen);
          }}
        />
      </div>
      {file && <MapFindings findings={[...file.uses[use], ...file.findings]} />}
    </li>
  );
}

function MapFindings({ findings }: { readonly findings: readonly Finding[] }) {
  if (findings.length === 0) return <p class="small soft">{texts.noFindings}</p>;
  return <FindingList findings={findings} />;
}

/** Browsers cannot show KTX2. */
function isShowable(file: FileAnswer | undefined): boolean {
  return file !== undefined && file.mimeType !== 'image/ktx2';
}

function describeFile({ widthPx, heightPx, mimeType, bytes }: FileAnswer): string {
  return `${widthPx} × ${heightPx} px, ${mimeType.replace('image/', '').toUpperCase()}, ${formatBytes(bytes)}`;
}
