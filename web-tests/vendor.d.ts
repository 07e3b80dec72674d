// What the page uses of the libraries it carries, as far as the type check needs it.

declare module "preact" {
  export type Node = object | string | number | boolean | null | undefined;
  export function h(kind: unknown, props: object | null, ...children: unknown[]): Node;
  export function render(node: unknown, into: Element): void;
  export abstract class Component<P = object, S = object> {
    constructor(props?: P);
    props: Readonly<P>;
    state: S;
    setState(next: Partial<S>): void;
    abstract render(): unknown;
  }
}

declare module "preact/hooks" {
  export function useEffect(act: () => void | (() => void), on?: readonly unknown[]): void;
  export function useRef<T>(first: T): { current: T };
  export function useState<T>(first: T): [T, (next: T) => void];
}

declare module "@preact/signals" {
  export interface ReadonlySignal<T> {
    readonly value: T;
    peek(): T;
  }
  export interface Signal<T> extends ReadonlySignal<T> {
    value: T;
  }
  export function signal<T>(first: T): Signal<T>;
  export function useSignal<T>(first: T): Signal<T>;
  export function computed<T>(from: () => T): ReadonlySignal<T>;
  export function effect(act: () => void): () => void;
  export function batch<T>(act: () => T): T;
}

declare module "htm" {
  type Tag = (pieces: TemplateStringsArray, ...values: unknown[]) => unknown;
  const htm: { bind(h: unknown): Tag };
  export default htm;
}

// The browser's audio thread, which has globals of its own.
declare abstract class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, processor: new () => AudioWorkletProcessor): void;
