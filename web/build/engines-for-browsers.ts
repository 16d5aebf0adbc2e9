import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Plugin } from "vite";

const nodeFile = (path: string) => readFileSync(createRequire(import.meta.url).resolve(path), "utf8");

/** Packages of `vision/` that are made for Node, as modules that a browser's worker can load. */
export function enginesForBrowsers(): Plugin {
  const made: Record<string, () => string> = { "opencv-wasm": openCv, "js-aruco2": markers };
  return {
    name: "engines-for-browsers",
    enforce: "pre",
    resolveId: (id) => (id in made ? `\0${id}` : null),
    load: (id) => (id.startsWith("\0") ? (made[id.slice(1)]?.() ?? null) : null),
  };
}

const NO_NODE = 'const require = (name) => { throw new Error(name + " is a part of Node"); };';

/** The marker reader sets its names on `this`, one file after another. */
const markers = () =>
  [
    NO_NODE,
    "const names = {};",
    ...["cv", "aruco"].map((file) => `(function () {${nodeFile(`js-aruco2/src/${file}.js`)}}).call(names);`),
    "export default names;",
  ].join("\n");

/**
 * OpenCV reads its WebAssembly from a file, and makes functions from text, which the page's security policy forbids. Here the
 * WebAssembly is compiled as it arrives, and the four makers of functions become closures that do the same. The package's
 * version is pinned; should its text change all the same, the build stops.
 */
const openCv = () =>
  [
    'import wasm from "opencv-wasm/opencv.wasm?url";',
    "const compiled = await WebAssembly.compileStreaming(fetch(new URL(wasm, import.meta.url)));",
    "const module = { exports: {} };",
    "const exports = module.exports;",
    NO_NODE,
    "const define = undefined;",
    "(function () {",
    withoutText(nodeFile("opencv-wasm/opencv.js")),
    "}).call(undefined);",
    "export default { cv: module.exports };",
  ].join("\n");

function withoutText(source: string): string {
  const changes: readonly [from: string, to: string, made: string][] = [
    ["let Module = {};", "", `let Module = { instantiateWasm: ${INSTANTIATE} };`],
    ["function createNamedFunction(name, body) {", "function extendError(", NAMED],
    ["function makeDynCaller(dynCall) {", "var fp;", CALLER],
    ['var argsList = "";\n                    var argsListWired = "";', "function heap32VectorToArray(", INVOKER],
    ['var params = ["retType"];', "function __emval_get_property(", METHOD_CALLER],
  ];
  const changed = changes.reduce((text, [from, to, made]) => replaced(text, from, to, made), source);
  if (/new Function\b|new_\(Function|\beval\(/.test(changed)) throw new Error("opencv-wasm still makes code from text");
  return changed;
}

/** `text` with `made` from `from` up to `to`, or in place of `from` alone. */
function replaced(text: string, from: string, to: string, made: string): string {
  const start = text.indexOf(from);
  const end = to ? text.indexOf(to, start) : start + from.length;
  if (start < 0 || end < start || text.indexOf(from, start + 1) >= 0) {
    throw new Error(`opencv-wasm is not as expected near ${JSON.stringify(from)}`);
  }
  return `${text.slice(0, start)}${made}\n${text.slice(end)}`;
}

const INSTANTIATE = `(imports, receive) => {
  const instance = new WebAssembly.Instance(compiled, imports);
  receive(instance);
  return instance.exports;
}`;

const NAMED = `
function createNamedFunction(name, body) {
  const named = function () { return body.apply(this, arguments); };
  return Object.defineProperty(named, "name", { value: makeLegalFunctionName(name) });
}`;

const CALLER = `
function makeDynCaller(dynCall) {
  return (...args) => dynCall(rawFunction, ...args);
}`;

/** Inside craftInvokerFunction: what it wrote as text, done. */
const INVOKER = `
  const wanted = argCount - 2;
  return function (...args) {
    if (args.length !== wanted) {
      throwBindingError("function " + humanName + " called with " + args.length + " arguments, expected " + wanted + " args!");
    }
    const destructors = needsDestructorStack ? [] : null;
    const wired = args.map((arg, i) => argTypes[i + 2].toWireType(destructors, arg));
    if (isClassMethodFunc) wired.unshift(argTypes[1].toWireType(destructors, this));
    const value = cppInvokerFunc(cppTargetFunc, ...wired);
    if (needsDestructorStack) runDestructors(destructors);
    else {
      for (let i = isClassMethodFunc ? 1 : 2; i < argTypes.length; i++) {
        const { destructorFunction } = argTypes[i];
        if (destructorFunction !== null) destructorFunction(wired[isClassMethodFunc ? i - 1 : i - 2]);
      }
    }
    return returns ? argTypes[0].fromWireType(value) : undefined;
  };
}
`;

/** Inside __emval_get_method_caller, likewise. */
const METHOD_CALLER = `
  const caller = (handle, name, destructors, at) => {
    const given = types.slice(1);
    let offset = 0;
    const read = given.map((type) => {
      const value = type.readValueFromPointer(at + offset);
      offset += type["argPackAdvance"];
      return value;
    });
    const value = handle[name](...read);
    given.forEach((type, i) => { if (type["deleteObject"]) type["deleteObject"](read[i]); });
    return retType.isVoid ? undefined : retType.toWireType(destructors, value);
  };
  return __emval_addMethodCaller(caller);
}
`;
