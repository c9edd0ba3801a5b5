#include "core/cut/expression.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"

namespace macle {

namespace {

constexpr int kDeepest = 40;  // brackets within brackets; keeps a hostile file from the stack

bool isLetter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}
bool isDigit(char c) {
    return c >= '0' && c <= '9';
}

// Recursive descent: sum = product {+ product}, product = factor {* factor}, factor = number |
// name | name(sum, ..) | (sum) | -factor.
class Reader {
  public:
    Reader(std::string_view text, const NamedNumbers& names) : text_(text), names_(names) {}

    double whole() {
        const double value = sum();
        skip();
        if (at_ < text_.size())
            fail("there is something left over: \"" + std::string(text_.substr(at_)) + "\"");
        if (!std::isfinite(value))
            throw Error(ErrorCode::NoSolution,
                        "In \"" + std::string(text_) + "\" the result is not a finite number.",
                        "Correct the formula or the values in it.");
        return value;
    }

  private:
    [[noreturn]] void fail(const std::string& what) const {
        throw Error(ErrorCode::BadInput, "In \"" + std::string(text_) + "\" " + what + ".",
                    "Correct the formula.");
    }
    void skip() {
        while (at_ < text_.size() && text_[at_] == ' ')
            ++at_;
    }
    bool take(char sign) {
        skip();
        if (at_ >= text_.size() || text_[at_] != sign) return false;
        ++at_;
        return true;
    }
    void expect(char sign) {
        if (!take(sign)) fail(std::string("a \"") + sign + "\" is missing");
    }

    double sum() {
        if (++depth_ > kDeepest) fail("the brackets go too deep");
        double value = product();
        for (;;) {
            if (take('+'))
                value += product();
            else if (take('-'))
                value -= product();
            else
                break;
        }
        --depth_;
        return value;
    }
    double product() {
        double value = factor();
        for (;;) {
            if (take('*'))
                value *= factor();
            else if (take('/'))
                value /= factor();
            else
                return value;
        }
    }
    double factor() {
        bool negative = false;
        while (take('-'))
            negative = !negative;
        const double value = plainFactor();
        return negative ? -value : value;
    }
    double plainFactor() {
        if (take('(')) {
            const double value = sum();
            expect(')');
            return value;
        }
        skip();
        if (at_ >= text_.size()) fail("a number or a name is missing at the end");
        const std::size_t begin = at_;
        if (isLetter(text_[at_])) {
            while (at_ < text_.size() && (isLetter(text_[at_]) || isDigit(text_[at_])))
                ++at_;
            const std::string_view name = text_.substr(begin, at_ - begin);
            if (take('(')) return call(name);
            const auto known = names_.find(name);
            if (known == names_.end()) fail("\"" + std::string(name) + "\" is not known here");
            return known->second;
        }
        while (at_ < text_.size() && (isDigit(text_[at_]) || text_[at_] == '.'))
            ++at_;
        const auto number = parseNumber(text_.substr(begin, at_ - begin));
        if (!number)
            fail("a number or a name is missing before \"" + std::string(text_.substr(begin)) +
                 "\"");
        return *number;
    }
    double call(std::string_view name) {
        std::vector<double> given{sum()};
        while (take(','))
            given.push_back(sum());
        expect(')');
        const double a = given[0];
        if (given.size() == 1) {
            if (name == "sin") return std::sin(radians(a));
            if (name == "cos") return std::cos(radians(a));
            if (name == "tan") return std::tan(radians(a));
            if (name == "asin") return degrees(std::asin(a));
            if (name == "acos") return degrees(std::acos(a));
            if (name == "atan") return degrees(std::atan(a));
            if (name == "sqrt") return std::sqrt(a);
            if (name == "abs") return std::abs(a);
        }
        if (given.size() == 2) {
            if (name == "min") return std::min(a, given[1]);
            if (name == "max") return std::max(a, given[1]);
            if (name == "atan2") return degrees(std::atan2(a, given[1]));
        }
        fail("there is no function " + std::string(name) + " of " + std::to_string(given.size()) +
             " numbers");
    }

    std::string_view text_;
    const NamedNumbers& names_;
    std::size_t at_ = 0;
    int depth_ = 0;
};

}  // namespace

double evaluate(std::string_view text, const NamedNumbers& names) {
    return Reader(text, names).whole();
}

}  // namespace macle
