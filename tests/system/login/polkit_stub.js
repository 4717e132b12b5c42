// SPDX-License-Identifier: MIT
// What a polkit rule file sees of polkit 122 [polkit(8), "Authorization rules"]: addRule() and
// Result. The subject has no system_unit, which came later. First to answer wins.
var rules = [];
var polkit = {
    Result: {
        NO: "no", YES: "yes", AUTH_SELF: "auth_self", AUTH_SELF_KEEP: "auth_self_keep",
        AUTH_ADMIN: "auth_admin", AUTH_ADMIN_KEEP: "auth_admin_keep", NOT_HANDLED: null
    },
    addRule: function (rule) { rules.push(rule); },
    log: function (text) { print(text); }
};

function decide(id, user) {
    var action = { id: id, lookup: function () { return undefined; } };
    var subject = {
        pid: 4242, user: user, groups: [], seat: "", session: "", local: false, active: false,
        isInGroup: function () { return false; }, isInNetGroup: function () { return false; }
    };
    for (var i = 0; i < rules.length; ++i) {
        var result = rules[i](action, subject);
        if (result) {
            return result;
        }
    }
    return "not handled";
}
