// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include <nlohmann/json.hpp>

namespace nightlatch::tool {
namespace {

using Written = nlohmann::ordered_json;

Written written(const Json& json);

// As deep as the answers are, which our own code builds. NOLINTBEGIN(misc-no-recursion)
struct Writer {
    template <class T>
    Written operator()(const T& plain) const {
        return plain;
    }

    Written operator()(const Json::Array& all) const {
        Written array = Written::array();
        for (const Json& one : all) {
            array.push_back(written(one));
        }
        return array;
    }

    Written operator()(const Json::Object& members) const {
        Written object = Written::object();
        for (const Json::Member& one : members) {
            object[one.name] = written(one.value);
        }
        return object;
    }
};

Written written(const Json& json) {
    return std::visit(Writer{}, json.value());
}

// NOLINTEND(misc-no-recursion)

constexpr int one_line = -1;  // nlohmann-json's word for it

std::string whole_text(std::string_view format, int version, const Json& answer, int indent) {
    Json whole{{"format", format}, {"version", version}};
    const auto* const members = std::get_if<Json::Object>(&answer.value());
    NIGHTLATCH_ENSURE(members != nullptr);
    for (const Json::Member& one : *members) {
        whole[one.name] = one.value;
    }
    return written(whole).dump(indent, ' ', false, Written::error_handler_t::replace) + "\n";
}

}  // namespace

Json::Json(std::nullptr_t) {}

Json::Json(std::string text) : value_(std::move(text)) {}

Json::Json(std::string_view text) : value_(std::string(text)) {}

Json::Json(const char* text) : value_(std::string(text)) {}

Json::Json(double value) {
    if (std::isfinite(value)) {
        value_ = value;
    }
}

Json::Json(std::initializer_list<Member> members) : value_(Object(members)) {}

Json Json::array() {
    Json json;
    json.value_ = Array();
    return json;
}

Json Json::object() {
    Json json;
    json.value_ = Object();
    return json;
}

void Json::push_back(Json value) {
    auto* const array = std::get_if<Array>(&value_);
    NIGHTLATCH_ENSURE(array != nullptr);
    array->push_back(std::move(value));
}

Json& Json::operator[](std::string_view name) {
    auto* const object = std::get_if<Object>(&value_);
    NIGHTLATCH_ENSURE(object != nullptr);
    const auto there = std::find_if(
        object->begin(), object->end(), [name](const Member& one) { return one.name == name; });
    if (there != object->end()) {
        return there->value;
    }
    object->push_back({std::string(name), nullptr});
    return object->back().value;
}

std::int64_t microseconds(Duration duration) {
    return std::chrono::floor<std::chrono::microseconds>(duration).count();
}

Json microseconds_of(double seconds) {
    const double whole = std::floor(seconds * 1e6);
    // A double is exact up to there; beyond it is "for ever" for every purpose.
    constexpr double most = 9'007'199'254'740'992.0;  // 2^53 us, 285 years
    return std::abs(whole) < most ? Json(static_cast<std::int64_t>(whole)) : Json();
}

std::string json_text(std::string_view format, int version, const Json& answer) {
    return whole_text(format, version, answer, 2);
}

std::string json_line(std::string_view format, int version, const Json& answer) {
    return whole_text(format, version, answer, one_line);
}

}  // namespace nightlatch::tool
