//! A reader with a pocket calculator: evaluates the formulas of workings in tests, and nothing but arithmetic.

/// Every function that a formula may call.
const FUNCTIONS: [&str; 9] = ["sqrt", "max", "min", "abs", "sum", "ln", "exp", "ceil", "round"];

/// The value of a formula in numbers with `+ - * / ** ( )`, `pi` and the functions above.
pub(super) fn evaluate(formula: &str) -> Result<f64, String> {
    let mut reader = Reader { rest: formula };
    let value = reader.sum()?;
    reader.skip();
    if reader.rest.is_empty() { Ok(value) } else { Err(format!("left over: {}", reader.rest)) }
}

struct Reader<'f> {
    rest: &'f str,
}

impl Reader<'_> {
    fn skip(&mut self) {
        self.rest = self.rest.trim_start_matches(' ');
    }

    fn eat(&mut self, sign: &str) -> bool {
        self.skip();
        self.rest.strip_prefix(sign).map(|rest| self.rest = rest).is_some()
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut value = self.product()?;
        loop {
            if self.eat("+") {
                value += self.product()?;
            } else if self.eat("-") {
                value -= self.product()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut value = self.sign()?;
        loop {
            // A power is eaten with what it raises.
            if self.eat("*") {
                value *= self.sign()?;
            } else if self.eat("/") {
                value /= self.sign()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn sign(&mut self) -> Result<f64, String> {
        if self.eat("-") { Ok(-self.sign()?) } else { self.power() }
    }

    fn power(&mut self) -> Result<f64, String> {
        let base = self.atom()?;
        if self.eat("**") { Ok(base.powf(self.sign()?)) } else { Ok(base) }
    }

    fn atom(&mut self) -> Result<f64, String> {
        if self.eat("(") {
            let value = self.sum()?;
            return if self.eat(")") {
                Ok(value)
            } else {
                Err(format!("no closing bracket at {}", self.rest))
            };
        }
        if self.eat("pi") {
            return Ok(std::f64::consts::PI);
        }
        for name in FUNCTIONS {
            if self.eat(name) {
                let values = self.arguments()?;
                return Ok(match name {
                    "sqrt" => values[0].sqrt(),
                    "abs" => values[0].abs(),
                    "ln" => values[0].ln(),
                    "exp" => values[0].exp(),
                    "ceil" => values[0].ceil(),
                    "round" => round(values[0]),
                    "sum" => values.iter().sum(),
                    "max" => values.into_iter().fold(f64::NEG_INFINITY, f64::max),
                    _ => values.into_iter().fold(f64::INFINITY, f64::min),
                });
            }
        }
        self.skip();
        let end = self
            .rest
            .char_indices()
            .take_while(|(at, c)| {
                c.is_ascii_digit()
                    || *c == '.'
                    || *c == 'e'
                    || (*c == '-' && *at > 0 && self.rest[..*at].ends_with('e'))
            })
            .count();
        let (digits, rest) = self.rest.split_at(end);
        self.rest = rest;
        digits.parse().map_err(|_| format!("no number at {digits}{rest}"))
    }

    fn arguments(&mut self) -> Result<Vec<f64>, String> {
        if !self.eat("(") {
            return Err(format!("no bracket at {}", self.rest));
        }
        let mut values = vec![self.sum()?];
        while self.eat(",") {
            values.push(self.sum()?);
        }
        if self.eat(")") { Ok(values) } else { Err(format!("no closing bracket at {}", self.rest)) }
    }
}

/// To the nearest whole number, halves away from zero; a half that the calculator's last digit hides counts as one.
fn round(value: f64) -> f64 {
    (value + 1e-6_f64.copysign(value)).round()
}

#[test]
fn arithmetic_is_evaluated_and_nothing_else() {
    assert_eq!(evaluate("2 + 3 * (4 - 1) / 2"), Ok(6.5));
    assert_eq!(evaluate("max(1, -2, min(5, 4)) - abs(-3)"), Ok(1.0));
    assert_eq!(evaluate("sqrt(3 * 3 + 4 * 4) * 1e-2"), Ok(0.05));
    assert_eq!(evaluate("2 ** 2.5 * 2 - 2 ** -1"), Ok(2_f64.powf(2.5) * 2.0 - 0.5));
    assert_eq!(evaluate("sum(1, 2, 3) + ceil(4.1) + ln(exp(1)) + 0 * pi"), Ok(12.0));
    assert_eq!(evaluate("round(0.5) + round(-2.5) + round(1.4999)"), Ok(-1.0));
    for wrong in ["", "1 +", "x", "2 2", "sqrt 4", "(1"] {
        assert!(evaluate(wrong).is_err(), "{wrong}");
    }
}
