/* Columns of figures as src/show/page/page_columns.h describes them, and their cells as the CSV files print them. */

function bytesOf(base64) {
    if (Uint8Array.fromBase64) /* where the browser has it */
        return Uint8Array.fromBase64(base64);
    const text = atob(base64), bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++)
        bytes[i] = text.charCodeAt(i);
    return bytes;
}

function integersOf(column) {
    const bytes = bytesOf(column.base64);
    const Kind = column.packed ? Uint32Array : {1: Int8Array, 2: Int16Array, 4: Int32Array}[column.bytes];
    return new Kind(bytes.buffer); /* little-endian, as every platform that browsers run on */
}

/* "%.7g" of mantissa · 10^exponent, which has at most seven digits. */
function figureText(mantissa, exponent) {
    if (!mantissa)
        return "0";
    let digits = String(Math.abs(mantissa));
    const zeros = digits.length - digits.replace(/0+$/, "").length;
    digits = digits.slice(0, digits.length - zeros);
    exponent += zeros;
    const sign = mantissa < 0 ? "-" : "", n = digits.length, power = n - 1 + exponent;
    if (power < -4 || power >= 7)
        return sign + digits[0] + (n > 1 ? "." + digits.slice(1) : "") + "e" + (power < 0 ? "-" : "+") +
               String(Math.abs(power)).padStart(2, "0");
    if (exponent >= 0)
        return sign + digits + "0".repeat(exponent);
    const whole = n + exponent;
    return sign + (whole > 0 ? digits.slice(0, whole) + "." + digits.slice(whole)
                             : "0." + "0".repeat(-whole) + digits);
}

/* Figures: values for drawing (NaN where unknown) and cells as in the CSV ("" where unknown). */
class Figures {
    constructor(column) {
        this.raw = integersOf(column);
        this.packed = !!column.packed;
        this.decimals = column.decimals || 0;
        this.lacking = this.packed ? 0 : -(2 ** (8 * column.bytes - 1));
        this.values = new Float64Array(this.raw.length);
        for (let i = 0; i < this.raw.length; i++)
            this.values[i] = this.value(i);
    }
    mantissa(i) {
        return this.packed ? Math.floor(this.raw[i] / 128) - 2 ** 24 : this.raw[i];
    }
    exponent(i) {
        return this.packed ? this.raw[i] % 128 - 64 : -this.decimals;
    }
    value(i) {
        if (this.raw[i] === this.lacking)
            return NaN;
        const e = this.exponent(i);
        return e < 0 ? this.mantissa(i) / 10 ** -e : this.mantissa(i) * 10 ** e;
    }
    text(i) {
        return this.raw[i] === this.lacking ? "" : figureText(this.mantissa(i), this.exponent(i));
    }
}

/* Times: whole microseconds, and seconds for drawing. */
class Times {
    constructor(column) {
        const steps = integersOf(column);
        this.micros = new Float64Array(steps.length);
        this.values = new Float64Array(steps.length);
        let at = column.first;
        for (let i = 0; i < steps.length; i++) {
            at += steps[i];
            this.micros[i] = at;
            this.values[i] = at / 1e6;
        }
    }
    text(i) {
        return timeText(this.micros[i]);
    }
    /* The last i whose time is not after t seconds; -1 before the first. */
    before(t) {
        let low = 0, high = this.values.length;
        while (low < high) {
            const middle = (low + high) >> 1;
            if (this.values[middle] <= t)
                low = middle + 1;
            else
                high = middle;
        }
        return low - 1;
    }
}

/* Microseconds as seconds with six decimals. */
function timeText(micros) {
    const whole = Math.floor(Math.abs(micros) / 1e6), rest = Math.abs(micros) - whole * 1e6;
    return (micros < 0 ? "-" : "") + whole + "." + String(rest).padStart(6, "0");
}
