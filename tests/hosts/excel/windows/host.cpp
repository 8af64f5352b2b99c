// Stands in for Excel and the VBA of a workbook, under Windows or Wine: loads xlwings' library,
// starts Python through it and hands over values as VBA does.
//
//     host.exe STEPS        STEPS: a file in UTF-8, one step a line, its parts apart by tabs
//
//     library PATH          the library to load
//     folder PATH           make this the current folder
//     config TEXT           what the library is to start
//     start                 says: started, or refused and the library's words, and the milliseconds
//     call NAME ARG...      says: the answer, or what failed; one new start if Python has ended
//     time COUNT NAME ARG.. the same call many times: milliseconds and calls between processes
//     end                   Python ends in the middle of things
//     wait MILLISECONDS
//
// An argument: n:48 number, s:text, t:1 truth, d:46024 date, y:48 money, e:2042 error, b empty,
// m left out, h:48 and i:48 whole numbers, N null; A and cells apart by 0x1F, rows by 0x1E, is a
// rectangle, V a row.
#include <windows.h>
#include <oleauto.h>
#include <stdio.h>
#include <fstream>
#include <string>
#include <vector>

using std::string;
using std::vector;
using std::wstring;

typedef long(WINAPI *Activate)(VARIANT *, const char *, long);

static Activate activate = nullptr;
static IDispatch *python = nullptr;
static string config;
static long crossings = 0;

static wstring wide(const string &text) {
    int size = MultiByteToWideChar(CP_UTF8, 0, text.c_str(), -1, nullptr, 0);
    wstring result(size, L'\0');
    MultiByteToWideChar(CP_UTF8, 0, text.c_str(), -1, &result[0], size);
    result.resize(size - 1);
    return result;
}

static string narrow(const wstring &text, UINT page) {
    int size = WideCharToMultiByte(page, 0, text.c_str(), -1, nullptr, 0, nullptr, nullptr);
    string result(size, '\0');
    WideCharToMultiByte(page, 0, text.c_str(), -1, &result[0], size, nullptr, nullptr);
    result.resize(size - 1);
    return result;
}

static vector<string> split(const string &text, char at) {
    vector<string> parts(1);
    for (char letter : text) {
        if (letter == at) parts.emplace_back();
        else parts.back() += letter;
    }
    return parts;
}

static VARIANT cell(const string &text) {
    VARIANT v;
    VariantInit(&v);
    string rest = text.size() > 1 ? text.substr(2) : "";
    switch (text[0]) {
    case 'n': V_VT(&v) = VT_R8; V_R8(&v) = strtod(rest.c_str(), nullptr); break;
    case 's': V_VT(&v) = VT_BSTR; V_BSTR(&v) = SysAllocString(wide(rest).c_str()); break;
    case 'e': V_VT(&v) = VT_ERROR; V_ERROR(&v) = 0x800A0000 + atoi(rest.c_str()); break;
    case 'm': V_VT(&v) = VT_ERROR; V_ERROR(&v) = DISP_E_PARAMNOTFOUND; break;
    case 'd': V_VT(&v) = VT_DATE; V_DATE(&v) = strtod(rest.c_str(), nullptr); break;
    case 'y': V_VT(&v) = VT_CY; V_CY(&v).int64 = LONGLONG(strtod(rest.c_str(), nullptr) * 1e4); break;
    case 't': V_VT(&v) = VT_BOOL; V_BOOL(&v) = rest == "1" ? VARIANT_TRUE : VARIANT_FALSE; break;
    case 'i': V_VT(&v) = VT_I4; V_I4(&v) = atoi(rest.c_str()); break;
    case 'h': V_VT(&v) = VT_I2; V_I2(&v) = SHORT(atoi(rest.c_str())); break;
    case 'N': V_VT(&v) = VT_NULL; break;
    }
    return v;
}

static VARIANT array(const vector<vector<string>> &rows, UINT dimensions) {
    SAFEARRAYBOUND bounds[2] = {{ULONG(rows.size()), 1}, {ULONG(rows[0].size()), 1}};
    SAFEARRAY *cells = SafeArrayCreate(VT_VARIANT, dimensions, dimensions == 2 ? bounds : bounds + 1);
    for (LONG i = 0; i < LONG(rows.size()); i++)
        for (LONG j = 0; j < LONG(rows[i].size()); j++) {
            LONG place[2] = {i + 1, j + 1};
            VARIANT v = cell(rows[i][j]);
            SafeArrayPutElement(cells, dimensions == 2 ? place : place + 1, &v);
            VariantClear(&v);
        }
    VARIANT v;
    VariantInit(&v);
    V_VT(&v) = VT_ARRAY | VT_VARIANT;
    V_ARRAY(&v) = cells;
    return v;
}

static VARIANT argument(const string &text) {
    if (text[0] != 'A' && text[0] != 'V') return cell(text);
    vector<vector<string>> rows;
    for (const string &row : split(text.substr(1), '\x1e')) rows.push_back(split(row, '\x1f'));
    return array(rows, text[0] == 'A' ? 2 : 1);
}

static string shown(const VARIANT &v) {
    char buffer[64];
    VARTYPE type = V_VT(&v);
    if (type & VT_ARRAY) {
        SAFEARRAY *cells = V_ARRAY(&v);
        LONG low[2] = {0, 0}, high[2] = {0, 0};
        UINT dimensions = SafeArrayGetDim(cells);
        for (UINT d = 0; d < dimensions; d++) {
            SafeArrayGetLBound(cells, d + 1, low + d);
            SafeArrayGetUBound(cells, d + 1, high + d);
        }
        string text = dimensions == 2 ? "A" : "V";
        for (LONG i = low[0]; i <= high[0]; i++)
            for (LONG j = low[1]; j <= high[1]; j++) {
                LONG place[2] = {i, j};
                VARIANT inside;
                VariantInit(&inside);
                SafeArrayGetElement(cells, place, &inside);
                text += shown(inside);
                VariantClear(&inside);
                if (j < high[1]) text += "\x1f";
                else if (i < high[0]) text += dimensions == 2 ? "\x1e" : "\x1f";
            }
        return text;
    }
    switch (type) {
    case VT_R8: sprintf(buffer, "n:%.17g", V_R8(&v)); return buffer;
    case VT_BSTR: {
        string text = "s:";
        for (char c : narrow(V_BSTR(&v) ? V_BSTR(&v) : L"", CP_UTF8)) text += c == '\n' ? ' ' : c;
        return text;
    }
    case VT_EMPTY: return "b";
    case VT_NULL: return "N";
    case VT_BOOL: return V_BOOL(&v) ? "t:1" : "t:0";
    case VT_I4: sprintf(buffer, "i:%ld", V_I4(&v)); return buffer;
    case VT_DATE: sprintf(buffer, "d:%.10g", V_DATE(&v)); return buffer;
    default: sprintf(buffer, "type %u", type); return buffer;
    }
}

static void say(const string &text) {
    fwrite((text + "\n").data(), 1, text.size() + 1, stdout);
    fflush(stdout);
}

static string start() {
    // VBA hands the text of a Declare over in the code page of the machine.
    BSTR handed = SysAllocStringByteLen(config.data(), UINT(config.size()));
    VARIANT found;
    VariantInit(&found);
    DWORD begin = GetTickCount();
    long failed = activate(&found, (const char *)handed, 1);
    string spent = std::to_string(GetTickCount() - begin);
    SysFreeString(handed);
    if (failed || V_VT(&found) != VT_DISPATCH) return "refused\t" + spent + "\t" + shown(found);
    python = V_DISPATCH(&found);
    return "started\t" + spent;
}

// python(module, name, arguments): the default member, whose number is 0
static HRESULT call(const string &name, const vector<VARIANT> &given, VARIANT *answer, string *words) {
    SAFEARRAY *passed = SafeArrayCreateVector(VT_VARIANT, 0, ULONG(given.size()));
    for (LONG i = 0; i < LONG(given.size()); i++)
        SafeArrayPutElement(passed, &i, const_cast<VARIANT *>(&given[i]));
    VARIANT parts[3]; // in reverse, as Invoke takes them
    for (VARIANT &part : parts) VariantInit(&part);
    V_VT(&parts[2]) = V_VT(&parts[1]) = VT_BSTR;
    V_BSTR(&parts[2]) = SysAllocString(L"xlfuncs.hosts.excel.functions");
    V_BSTR(&parts[1]) = SysAllocString(wide(name).c_str());
    V_VT(&parts[0]) = VT_ARRAY | VT_VARIANT;
    V_ARRAY(&parts[0]) = passed;
    DISPPARAMS handed = {parts, nullptr, 3, 0};
    EXCEPINFO told = {};
    UINT wrong = 0;
    crossings++;
    HRESULT result = python->Invoke(DISPID_VALUE, IID_NULL, LOCALE_USER_DEFAULT,
                                    DISPATCH_METHOD | DISPATCH_PROPERTYGET, &handed, answer, &told,
                                    &wrong);
    if (FAILED(result)) {
        char code[16];
        sprintf(code, "%08lx ", result);
        *words = code;
        if (told.bstrDescription) *words += narrow(told.bstrDescription, CP_UTF8);
    }
    for (VARIANT &part : parts) VariantClear(&part);
    return result;
}

static string answered(const string &name, const vector<VARIANT> &given) {
    VARIANT answer;
    string words, again;
    VariantInit(&answer);
    if (FAILED(call(name, given, &answer, &words)) && words.find("Unexpected") == string::npos) {
        again = start() + "\t";
        VariantInit(&answer);
        words = "";
        call(name, given, &answer, &words);
    }
    string text = again + (words.empty() ? shown(answer) : "failed\t" + words);
    VariantClear(&answer);
    return text;
}

static void measure(int count, const string &name, const vector<VARIANT> &given) {
    LARGE_INTEGER frequency, begin, end;
    QueryPerformanceFrequency(&frequency);
    QueryPerformanceCounter(&begin);
    crossings = 0;
    for (int i = 0; i < count; i++) {
        VARIANT answer;
        string words;
        VariantInit(&answer);
        call(name, given, &answer, &words);
        VariantClear(&answer);
    }
    QueryPerformanceCounter(&end);
    char text[80];
    double spent = double(end.QuadPart - begin.QuadPart) * 1e3 / double(frequency.QuadPart);
    sprintf(text, "%.4f ms a call\t%.2f crossings a call", spent / count, double(crossings) / count);
    say(text);
}

static void end_python() {
    LPOLESTR member = const_cast<LPOLESTR>(L"Exec");
    DISPID number;
    python->GetIDsOfNames(IID_NULL, &member, 1, LOCALE_USER_DEFAULT, &number);
    VARIANT statement, answer;
    VariantInit(&answer);
    V_VT(&statement) = VT_BSTR;
    V_BSTR(&statement) = SysAllocString(L"import os; os._exit(5)");
    DISPPARAMS handed = {&statement, nullptr, 1, 0};
    EXCEPINFO told = {};
    UINT wrong = 0;
    python->Invoke(number, IID_NULL, LOCALE_USER_DEFAULT, DISPATCH_METHOD, &handed, &answer, &told,
                   &wrong);
    VariantClear(&statement);
    say("ended");
}

static void step(const vector<string> &parts) {
    const string &kind = parts[0];
    size_t first = kind == "time" ? 3 : 2;
    vector<VARIANT> given;
    if (kind == "call" || kind == "time")
        for (size_t i = first; i < parts.size(); i++) given.push_back(argument(parts[i]));
    if (kind == "library") {
        HMODULE library = LoadLibraryW(wide(parts[1]).c_str());
        if (!library) return say("library\terror " + std::to_string(GetLastError()));
        activate = Activate(reinterpret_cast<void *>(GetProcAddress(library, "XLPyDLLActivateAuto")));
    } else if (kind == "folder") SetCurrentDirectoryW(wide(parts[1]).c_str());
    else if (kind == "config") config = narrow(wide(parts[1]), CP_ACP);
    else if (kind == "start") say(start());
    else if (kind == "call") say(parts[1] + "\t" + answered(parts[1], given));
    else if (kind == "time") measure(atoi(parts[1].c_str()), parts[2], given);
    else if (kind == "end") end_python();
    else if (kind == "wait") Sleep(atoi(parts[1].c_str()));
    for (VARIANT &v : given) VariantClear(&v);
}

int wmain(int, wchar_t **arguments) {
    CoInitializeEx(nullptr, COINIT_APARTMENTTHREADED);
    std::ifstream file;
    file.open(narrow(arguments[1], CP_ACP));
    for (string line; std::getline(file, line);) {
        if (!line.empty() && line.back() == '\r') line.pop_back();
        if (!line.empty()) step(split(line, '\t'));
    }
    ExitProcess(0);
}
