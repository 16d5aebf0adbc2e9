import * as tf from "@tensorflow/tfjs";
import { setWasmPaths } from "@tensorflow/tfjs-backend-wasm";

/** Names and shapes of a network's weights, in the order of its float16 binary; written by `training/export.py`. */
export interface WeightList {
  readonly tensors: readonly { readonly name: string; readonly shape: readonly number[] }[];
  readonly example: { readonly at: readonly number[]; readonly given: readonly number[] };
}
type Node = tf.SymbolicTensor;

/** How one of the networks of `training/networks.py` is built. */
export interface NetworkPlan {
  readonly rows: number;
  readonly columns: number;
  readonly channels: number;
  readonly widths: readonly number[];
  /** The level at which the way up ends; 0 is full size. */
  readonly upTo: number;
}

/** Synchronous: `rows × columns × channels` in; the head's logits, class by class within each cell, out. */
export type Network = (input: Float32Array) => Float32Array;

/**
 * A U-Net of `training/networks.py` in TensorFlow.js layers with its trained weights, built once.
 *
 * @param weights  float16 numbers in the list's order; batch norm is folded into them already.
 */
export function loadNetwork(plan: NetworkPlan, list: WeightList, weights: Uint16Array): Network {
  const model = build(plan, list, weights);
  return (input) => {
    // only tensors may leave tidy: it walks through whatever else comes out, number by number
    const head = tf.tidy(() =>
      model.predict(tf.tensor4d(input, [1, plan.rows, plan.columns, plan.channels])),
    ) as tf.Tensor;
    const logits = head.dataSync() as Float32Array;
    head.dispose();
    return logits;
  };
}

function build(plan: NetworkPlan, { tensors }: WeightList, weights: Uint16Array): tf.LayersModel {
  const listed = tensors.reduce((sum, { shape }) => sum + shape.reduce((a, b) => a * b, 1), 0);
  if (listed !== weights.length) throw new RangeError(`weights: ${weights.length} numbers, ${listed} listed`);
  const values = halfToFloat(weights);
  const at = new Map<string, tf.Tensor>();
  let offset = 0;
  for (const { name, shape } of tensors) {
    const size = shape.reduce((a, b) => a * b, 1);
    at.set(name, tf.tensor(values.subarray(offset, offset + size), [...shape]));
    offset += size;
  }
  const weight = (name: string) => at.get(name)!;
  const settle: (() => void)[] = [];
  const use = (layer: tf.layers.Layer, names: readonly string[], from: Node | Node[]) => {
    const given = layer.apply(from) as Node;
    settle.push(() => layer.setWeights(names.map(weight)));
    return given;
  };
  const conv = (x: Node, path: string, kernelSize: number, activation?: "relu") => {
    const filters = weight(`${path}/kernel`).shape[3]!;
    const layer = tf.layers.conv2d({ filters, kernelSize, padding: "same", ...(activation && { activation }) });
    return use(layer, [`${path}/kernel`, `${path}/bias`], x);
  };
  const separable = (x: Node, path: string, dilationRate = 1) => {
    const kernel = weight(`${path}/depth`) as tf.Tensor4D;
    return conv(use(new Depthwise(kernel.shape, dilationRate), [`${path}/depth`], x), path, 1, "relu");
  };
  const input = tf.input({ shape: [plan.rows, plan.columns, plan.channels] });
  let x = conv(input, "body/first", 3, "relu");
  const skips: Node[] = [];
  for (let level = 0; level < plan.widths.length; level++) {
    if (level) x = tf.layers.maxPooling2d({ poolSize: 2 }).apply(x) as Node;
    for (const n of [0, 1]) x = separable(x, `body/down/${level}/${n}`);
    skips.push(x);
  }
  const last = plan.widths.at(-1)!;
  const mean = tf.layers.globalAveragePooling2d({}).apply(x) as Node;
  const whole = use(
    tf.layers.dense({ units: last, activation: "relu" }),
    ["body/whole/kernel", "body/whole/bias"],
    mean,
  );
  x = tf.layers.add().apply([x, tf.layers.reshape({ targetShape: [1, 1, last] }).apply(whole) as Node]) as Node;
  for (const [n, dilation] of [1, 2, 1].entries()) {
    x = tf.layers.add().apply([x, separable(x, `body/bottom/${n}`, dilation)]) as Node;
  }
  for (let level = plan.widths.length - 2; level >= plan.upTo; level--) {
    const [, rows, columns] = skips[level]!.shape as [null, number, number];
    x = new Enlarge({ rows, columns }).apply(x) as Node;
    x = tf.layers.concatenate({ axis: -1 }).apply([x, skips[level]!]) as Node;
    for (const n of [0, 1]) x = separable(x, `body/up/${level - plan.upTo}/${n}`);
  }
  const model = tf.model({ inputs: input, outputs: conv(x, "head", 1) });
  for (const set of settle) set();
  for (const tensor of at.values()) tensor.dispose();
  return model;
}

/** Depthwise convolution, "same"; the library's own layer takes no dilation: it drops it without a word (4.22). */
class Depthwise extends tf.layers.Layer {
  static className = "Depthwise";
  readonly #kernel: tf.LayerVariable;
  readonly #dilation: number;
  constructor(shape: tf.Shape, dilation: number) {
    super({});
    this.#kernel = this.addWeight("depth", shape, "float32", tf.initializers.zeros());
    this.#dilation = dilation;
    this.built = true;
  }
  override computeOutputShape(shape: tf.Shape): tf.Shape {
    return shape;
  }
  override call(inputs: tf.Tensor | tf.Tensor[]): tf.Tensor {
    const x = (Array.isArray(inputs) ? inputs[0]! : inputs) as tf.Tensor4D;
    return tf.depthwiseConv2d(x, this.#kernel.read() as tf.Tensor4D, 1, "same", "NHWC", this.#dilation);
  }
}

/** Bilinear enlargement with half-pixel centres, as PyTorch's `align_corners=False`; upSampling2d has other centres. */
class Enlarge extends tf.layers.Layer {
  static className = "Enlarge";
  readonly #size: [number, number];
  constructor({ rows, columns }: { rows: number; columns: number }) {
    super({});
    this.#size = [rows, columns];
  }
  override computeOutputShape(shape: tf.Shape): tf.Shape {
    return [shape[0]!, ...this.#size, shape[3]!];
  }
  override call(inputs: tf.Tensor | tf.Tensor[]): tf.Tensor {
    const x = (Array.isArray(inputs) ? inputs[0]! : inputs) as tf.Tensor4D;
    return tf.image.resizeBilinear(x, this.#size, false, true);
  }
}

/** IEEE 754 binary16 → numbers. */
function halfToFloat(half: Uint16Array): Float32Array {
  return Float32Array.from(half, (bits) => {
    const [sign, exponent, fraction] = [bits & 0x8000 ? -1 : 1, (bits >> 10) & 31, bits & 1023];
    if (exponent === 0) return sign * fraction * 2 ** -24;
    return sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
  });
}

/** Make TensorFlow.js ready on WebAssembly. @param folder  where the backend's .wasm files lie, ending in "/". */
export async function readyTensors(folder: string): Promise<void> {
  setWasmPaths(folder);
  await tf.setBackend("wasm");
  await tf.ready();
}
