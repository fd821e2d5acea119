import { allowsWebAssembly } from '../../renderer/page/decoder-workers.ts';
import { type ViewerTexts, viewerTexts } from '../texts/viewer.ts';
import { LOOK } from './look.ts';
import { createPicker, type Picker } from './picker.ts';
import { type Chosen, type Group, planChoices, type ViewerPlan, type ViewerVariant } from './plan-choices.ts';
import { type ArrivingGlb, fetchGlb } from './read-glb.ts';
import type { Stage } from './stage.ts';

export type { ViewerTexts, ViewerVariant };

/** Detail of the event `variantchange`. */
export interface VariantChange {
  /** Name of the variant in the file; null for a combination of its own. */
  readonly variant: string | null;
  readonly code: string | null;
  /** Position to finish; empty without a manifest. */
  readonly choices: Readonly<Record<string, string>>;
}

const MOUNTS = ['floor', 'table', 'wall', 'ceiling'] as const;
/** One press of a button enlarges by a quarter. */
const STEP = 1.25;

/**
 * `<dyeworks-viewer src variant manifest poster>`: a product in every variant of a delivered GLB.
 *
 * Events: `load` when the product is drawn; `progress` with `detail: {loaded, total}` in bytes; `error` with `detail: {message}`;
 * `variantchange` with `detail: {variant, code, choices}`.
 */
export class DyeworksViewer extends HTMLElement {
  static readonly observedAttributes = ['src', 'manifest', 'variant', 'poster', 'usdz', 'alt', 'mount'];

  /** Replaces texts, for example with translations. Set it before the element is on the page, or at any time. */
  #texts: ViewerTexts = viewerTexts;
  readonly #image = document.createElement('img');
  readonly #note = document.createElement('p');
  readonly #heard = document.createElement('p');
  readonly #frame = document.createElement('div');
  readonly #tools = document.createElement('div');
  readonly #choices = document.createElement('div');
  #canvas = document.createElement('canvas');
  #plan: ViewerPlan | null = null;
  #picker: Picker | null = null;
  #chosen: Chosen = new Map();
  #stage: Stage | null = null;
  #work = new AbortController();
  #planned = false;
  #resizes: ResizeObserver | null = null;

  constructor() {
    super();
    const root = this.attachShadow({ mode: 'open' });
    const look = new CSSStyleSheet();
    look.replaceSync(LOOK);
    root.adoptedStyleSheets = [look];
    for (const [element, name] of [
      [this.#frame, 'frame'],
      [this.#image, 'poster'],
      [this.#note, 'note'],
      [this.#tools, 'tools'],
    ] as const) {
      element.className = name;
      element.part.add(name);
    }
    this.#heard.className = 'heard';
    this.#heard.role = 'status';
    this.#note.role = 'status';
    this.#image.hidden = true;
    this.#frame.append(this.#image, this.#note);
    root.append(this.#frame, this.#tools, this.#choices, this.#heard);
  }

  connectedCallback(): void {
    this.#showPoster();
    this.#reload();
  }

  disconnectedCallback(): void {
    this.#stop();
  }

  attributeChangedCallback(name: string, before: string | null, now: string | null): void {
    if (!this.isConnected || before === now) return;
    if (name === 'src' || name === 'manifest' || name === 'mount') this.#reload();
    else if (name === 'variant') this.#takeVariant(now);
    else if (name === 'poster') this.#showPoster();
    else if (name === 'usdz') this.#showTools();
    else this.#describe();
  }

  /** Address of the GLB. */
  get src(): string {
    return this.getAttribute('src') ?? '';
  }
  set src(value: string) {
    this.setAttribute('src', value);
  }

  /** Address of the delivery's manifest; null without one. */
  get manifest(): string | null {
    return this.getAttribute('manifest');
  }
  set manifest(value: string | null) {
    this.#put('manifest', value);
  }

  /** Address of the picture that is shown first. */
  get poster(): string | null {
    return this.getAttribute('poster');
  }
  set poster(value: string | null) {
    this.#put('poster', value);
  }

  /** Address of a USDZ. `{code}` in it stands for the code of the variant that is shown. */
  get usdz(): string | null {
    return this.getAttribute('usdz');
  }
  set usdz(value: string | null) {
    this.#put('usdz', value);
  }

  /** Name of the product for people who cannot see it. */
  get alt(): string | null {
    return this.getAttribute('alt');
  }
  set alt(value: string | null) {
    this.#put('alt', value);
  }

  /** `floor` (default), `table`, `wall` or `ceiling`. */
  get mount(): string {
    return MOUNTS.find((mount) => mount === this.getAttribute('mount')) ?? 'floor';
  }
  set mount(value: string) {
    this.setAttribute('mount', value);
  }

  /** The variants of the file, in its order; empty until its first bytes are there. */
  get variants(): readonly ViewerVariant[] {
    return this.#plan?.variants ?? [];
  }

  /** Name of the variant that is shown; null for a combination of its own, and before the file is there. */
  get variant(): string | null {
    return this.#plan?.variants[this.#plan.variantOf(this.#chosen)]?.name ?? null;
  }
  /** Takes a name as in the file, or a code where the manifest is there. */
  set variant(value: string | null) {
    if (value === null) this.removeAttribute('variant');
    else if (this.getAttribute('variant') === value) this.#takeVariant(value);
    else this.setAttribute('variant', value);
  }

  /** Position to finish; empty without a manifest. */
  get choices(): Readonly<Record<string, string>> {
    return Object.fromEntries([...this.#chosen].filter(([group]) => group !== ''));
  }

  /** @throws RangeError for a combination that is not made; before the file is there */
  set choices(wanted: Readonly<Record<string, string>>) {
    const chosen = new Map([...this.#chosen, ...Object.entries(wanted)]);
    if (!this.#plan?.isMade(chosen)) throw new RangeError(this.#texts.notMade);
    this.#change(chosen);
  }

  get texts(): ViewerTexts {
    return this.#texts;
  }
  set texts(some: Partial<ViewerTexts>) {
    this.#texts = { ...viewerTexts, ...some };
    if (!this.#plan) return;
    this.#showPicker(this.#plan);
    this.#showTools();
  }

  #put(name: string, value: string | null): void {
    if (value === null) this.removeAttribute(name);
    else this.setAttribute(name, value);
  }

  #stop(): void {
    this.#work.abort();
    this.#resizes?.disconnect();
    this.#stage?.dispose();
    this.#stage = null;
    this.#canvas.remove();
    this.#canvas = document.createElement('canvas');
  }

  #showPoster(): void {
    const poster = this.getAttribute('poster');
    this.#image.hidden = poster === null || this.#canvas.classList.contains('drawn');
    if (poster !== null) this.#image.src = poster;
    this.#describe();
  }

  /** All changes of one moment load the file once. */
  #reload(): void {
    if (this.#planned) return;
    this.#planned = true;
    queueMicrotask(() => {
      this.#planned = false;
      if (this.isConnected) void this.#load();
    });
  }

  async #load(): Promise<void> {
    this.#stop();
    const work = new AbortController();
    this.#work = work;
    this.#plan = null;
    const { src } = this;
    if (src === '') return;
    this.#note.textContent = this.#texts.loading;
    // both come at once, so that the 3D code does not wait for the file
    const code = import('./stage.ts');
    code.catch(() => undefined);
    let file: ArrivingGlb;
    try {
      const [glb, manifest] = await Promise.all([
        fetchGlb(src, work.signal, (loaded, total) => this.#tell('progress', { loaded, total })),
        this.#fetchManifest(work.signal),
      ]);
      file = glb;
      if (work.signal.aborted) return;
      this.#take(planChoices(file.json, manifest));
      if (needsWebAssembly(file.json) && !allowsWebAssembly()) {
        work.abort();
        return this.#fail(this.#texts.noDecoder, new Error("script-src 'wasm-unsafe-eval'"));
      }
    } catch (error) {
      if (!work.signal.aborted) this.#fail(this.#texts.noFile, error);
      return;
    }
    try {
      const [{ openStage }, bytes] = await Promise.all([code, file.bytes]);
      if (work.signal.aborted) return;
      await this.#open(openStage, bytes, work.signal);
    } catch (error) {
      if (!work.signal.aborted) this.#fail(this.#texts.noGraphics, error);
    }
  }

  /** Without its manifest a file still shows its variants. */
  async #fetchManifest(signal: AbortSignal): Promise<unknown> {
    const url = this.getAttribute('manifest');
    if (url === null) return null;
    try {
      const answer = await fetch(url, { signal });
      return answer.ok ? await answer.json() : null;
    } catch {
      return null;
    }
  }

  #take(plan: ViewerPlan): void {
    this.#plan = plan;
    const wanted = this.getAttribute('variant');
    const found = wanted === null ? -1 : plan.find(wanted);
    this.#chosen = plan.chosenOf(found < 0 ? plan.start : found);
    this.#showPicker(plan);
    this.#describe();
  }

  async #open(openStage: typeof import('./stage.ts').openStage, bytes: Uint8Array, signal: AbortSignal): Promise<void> {
    const plan = this.#plan!;
    const canvas = document.createElement('canvas');
    canvas.part.add('canvas');
    canvas.tabIndex = 0;
    canvas.role = 'img';
    this.#canvas = canvas;
    this.#image.after(canvas);
    this.#describe();
    const opened = this.#chosen;
    const asked = MOUNTS.find((mount) => mount === this.getAttribute('mount')) ?? 'floor';
    let drawn = false;
    const stage = await openStage(canvas, bytes, asked, plan.assign(opened), {
      onDrawn: () => {
        if (drawn || signal.aborted) return;
        drawn = true;
        canvas.classList.add('drawn');
        this.#image.hidden = true;
        this.#note.textContent = '';
        this.#tell('load', undefined);
      },
      onLost: () => this.#fail(this.#texts.noGraphics, new Error('webglcontextlost')),
    }).catch((error: unknown) => {
      canvas.remove();
      throw error;
    });
    if (signal.aborted) return stage.dispose();
    this.#stage = stage;
    this.#resizes = new ResizeObserver(() => stage.resize());
    this.#resizes.observe(canvas);
    // what was chosen while the product loaded
    if (this.#chosen !== opened) void stage.assign(plan.assign(this.#chosen));
    this.#showTools();
  }

  #fail(message: string, error: unknown): void {
    this.#stop();
    this.#tools.replaceChildren();
    this.#note.textContent = message;
    this.#showPoster();
    this.#tell('error', { message: error instanceof Error ? error.message : String(error) });
  }

  #showPicker(plan: ViewerPlan): void {
    this.#picker = createPicker(plan, this.#texts, (group, key) => this.#choose(group, key));
    this.#picker.show(this.#chosen);
    this.#choices.replaceChildren(this.#picker.element);
  }

  #takeVariant(wanted: string | null): void {
    const plan = this.#plan;
    const at = plan && wanted !== null ? plan.find(wanted) : -1;
    if (plan && at >= 0) this.#change(plan.chosenOf(at));
  }

  #choose(group: Group, key: string): void {
    const plan = this.#plan!;
    const name = group.choices.find((choice) => choice.key === key)!.name;
    const label = group.label || this.#texts.variants;
    const chosen = plan.choose(this.#chosen, group.key, key);
    const others = [...chosen]
      .filter(([other, finish]) => other !== group.key && this.#chosen.get(other) !== finish)
      .map(([other, finish]) => this.#nameChoice(other, finish));
    this.#change(chosen);
    const said = this.#texts.chosen(label, name);
    const also = others.length > 0 ? this.#texts.alsoChanged(others.join(', ')) : '';
    this.#heard.textContent = also === '' ? said : `${said}. ${also}`;
    // what changes by itself is also seen
    this.#note.textContent = also;
  }

  #change(chosen: Chosen): void {
    const plan = this.#plan!;
    const same = [...chosen].every(([group, key]) => this.#chosen.get(group) === key);
    this.#chosen = chosen;
    this.#picker?.show(chosen);
    this.#describe();
    if (same) return;
    this.#showRoomLink();
    void this.#stage?.assign(plan.assign(chosen));
    const { name = null, code = null } = plan.variants[plan.variantOf(chosen)] ?? {};
    this.#tell('variantchange', { variant: name, code, choices: this.choices } satisfies VariantChange);
  }

  #nameChoice(group: string, key: string): string {
    const found = this.#plan?.groups.find((each) => each.key === group);
    const name = found?.choices.find((choice) => choice.key === key)?.name ?? key;
    return found?.label ? this.#texts.chosen(found.label, name) : name;
  }

  #nameChosen(group: string): string {
    return this.#nameChoice(group, this.#chosen.get(group) ?? '');
  }

  #describe(): void {
    const product = this.getAttribute('alt') ?? this.#plan?.productName ?? this.#texts.product;
    const choice = [...this.#chosen.keys()].map((group) => this.#nameChosen(group)).join(', ');
    const text = this.#texts.picture(product, choice);
    this.#image.alt = text;
    this.#canvas.ariaLabel = text;
    this.#canvas.ariaDescription = this.#texts.help;
  }

  #showTools(): void {
    const stage = this.#stage;
    if (!stage) return;
    const tools: HTMLElement[] = [
      makeButton(this.#texts.enlarge, () => stage.zoom(STEP)),
      makeButton(this.#texts.reduce, () => stage.zoom(1 / STEP)),
      makeButton(this.#texts.whole, () => stage.fit()),
    ];
    if (document.fullscreenEnabled) tools.push(this.#makeFullScreen());
    this.#tools.replaceChildren(...tools);
    this.#showRoomLink();
  }

  /** The file for the room is that of the variant shown. */
  #showRoomLink(): void {
    this.#tools.querySelector('a')?.remove();
    const room = this.#stage && this.#makeRoomLink();
    if (room) this.#tools.append(room);
  }

  #makeFullScreen(): HTMLElement {
    const button = makeButton(this.#texts.fullScreen, () => {
      if (document.fullscreenElement) void document.exitFullscreen();
      else void this.#frame.requestFullscreen().catch(() => undefined);
    });
    this.#frame.onfullscreenchange = () => {
      button.textContent = document.fullscreenElement ? this.#texts.leaveFullScreen : this.#texts.fullScreen;
    };
    return button;
  }

  /** Devices that show USDZ in the room open a link with `rel="ar"` that holds a picture. */
  #makeRoomLink(): HTMLElement | null {
    const usdz = this.getAttribute('usdz');
    const link = document.createElement('a');
    if (usdz === null || !link.relList.supports?.('ar')) return null;
    const { code = null } = this.#plan?.variants[this.#plan.variantOf(this.#chosen)] ?? {};
    // a combination of its own has no file
    if (code === null && usdz.includes('{code}')) return null;
    link.rel = 'ar';
    link.part.add('button');
    link.href = usdz.replaceAll('{code}', encodeURIComponent(code ?? ''));
    const image = document.createElement('img');
    image.alt = this.#texts.room;
    image.src = this.getAttribute('poster') ?? '';
    link.append(image);
    return link;
  }

  #tell(type: string, detail: unknown): void {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }
}

/** Textures in KTX2 have no decoder in plain script; those in the other compressions do. */
function needsWebAssembly(json: unknown): boolean {
  const { extensionsRequired } = (json ?? {}) as { readonly extensionsRequired?: unknown };
  return Array.isArray(extensionsRequired) && extensionsRequired.includes('KHR_texture_basisu');
}

function makeButton(text: string, act: () => void): HTMLButtonElement {
  const button = document.createElement('button');
  button.type = 'button';
  button.part.add('button');
  button.textContent = text;
  button.addEventListener('click', act);
  return button;
}

if (!customElements.get('dyeworks-viewer')) customElements.define('dyeworks-viewer', DyeworksViewer);

declare global {
  interface HTMLElementTagNameMap {
    'dyeworks-viewer': DyeworksViewer;
  }
}
