' The worksheet functions of xlfuncs {version}, written by  xlfuncs excel add ; a change made here
' is lost when that is given again. They are computed by Python: the library of xlwings (under its
' BSD licence) starts it, and its server there answers. What is passed on are values, never ranges, because each
' look at a range from Python would come back into this program and wait for it.

#If Win64 Then
Private Declare PtrSafe Function XLPyDLLActivateAuto Lib "{library64}" (ByRef found As Variant, ByVal config As String, ByVal mode As Long) As Long
Private Const LIBRARY_FILE As String = "{library64}"
#Else
Private Declare PtrSafe Function XLPyDLLActivateAuto Lib "{library32}" (ByRef found As Variant, ByVal config As String, ByVal mode As Long) As Long
Private Const LIBRARY_FILE As String = "{library32}"
#End If
Private Declare PtrSafe Function LoadLibraryW Lib "kernel32" (ByVal path As LongPtr) As LongPtr
Private Declare PtrSafe Function SetCurrentDirectoryW Lib "kernel32" (ByVal path As LongPtr) As Long

Private python As Object  ' the server in Python, kept for all calls
Private refusal As String ' why Python cannot be reached; nothing is tried again until asked
Private library_words As String ' what hindered the library, in its words

' Starts Python again after what hindered it was mended, and computes everything anew.
Public Sub xlfuncs_try_again()
    refusal = ""
    Set python = Nothing
    On Error GoTo failed
    StartPython
    Application.CalculateFull
    Exit Sub
failed:
    MsgBox Err.Description
End Sub

Private Function Answer(ByVal inWords As Boolean, ByVal name As String, ByVal given As Variant, Optional ByVal more As Variant) As Variant
    On Error GoTo failed
    Answer = FromPython(Asked(name, Values(given, more)))
    Exit Function
failed:
    If inWords Then Answer = Err.Description Else Answer = CVErr({value_error})
End Function

' Asks once; if Python ended since the last one, it is started once more.
Private Function Asked(ByVal name As String, ByVal passed As Variant) As Variant
    Dim words As String
    If python Is Nothing Then StartPython
    On Error GoTo failed
    Asked = Called(name, passed)
    Exit Function
failed:
    words = Err.Description
    Resume again
again:
    On Error GoTo 0
    If InStr(words, "Unexpected Python Error") > 0 Then Err.Raise 1000, , words
    Set python = Nothing
    StartPython
    On Error GoTo lost
    Asked = Called(name, passed)
    Exit Function
lost:
    words = Err.Description
    Resume ended
ended:
    On Error GoTo 0
    Set python = Nothing
    Refuse "Python ended while it computed " & name & " (" & words & ")"
End Function

' The default member, so that no number of a name is asked for first.
Private Function Called(ByVal name As String, ByVal passed As Variant) As Variant
    Called = python("{module}", name, passed)
End Function

Private Sub StartPython()
    Dim path As String, folder As String
    If refusal <> "" Then Err.Raise 1000, , refusal
    path = Setting("{python_key}")
    folder = Setting("{library_key}")
    If path = "" Or folder = "" Then Refuse "the workbook names no Python of this computer: close it, then give  xlfuncs excel add  with its name"
    ShowStatus "Python starts for the worksheet functions ..."
    Set python = Started(path, folder)
    ShowStatus False
    If python Is Nothing Then Refuse Reason(path)
End Sub

' Nothing if Python does not come up; its own words are left to Reason.
Private Function Started(ByVal path As String, ByVal folder As String) As Object
    Dim found As Variant, was As String, program As String
    On Error GoTo failed
    library_words = ""
    program = path
    was = CurDir$
    If LoadLibraryW(StrPtr(folder & "\" & LIBRARY_FILE)) = 0 Then library_words = "the library " & folder & "\" & LIBRARY_FILE & " cannot be loaded (error " & Err.LastDllError & ")"
    If library_words <> "" Then Exit Function
    SaveSetting "{application}", "{section}", "{key}", ""
    If StrConv(StrConv(path, vbFromUnicode), vbUnicode) <> path Then
        ' The library takes no letter beyond the code page: the program is named without its folder.
        SetCurrentDirectoryW StrPtr(Left$(path, InStrRev(path, "\")))
        program = Mid$(path, InStrRev(path, "\") + 1)
    End If
    If XLPyDLLActivateAuto(found, """" & program & """ {options}", 1) = 0 Then Set Started = found Else library_words = found
failed:
    If Err.Number <> 0 Then library_words = Err.Description
    If program <> path Then SetCurrentDirectoryW StrPtr(was)
End Function

Private Function Reason(ByVal path As String) As String
    Reason = GetSetting("{application}", "{section}", "{key}", "")
    If Reason = "" Then Reason = Split(library_words & vbLf, vbLf)(0)
    Reason = path & ": " & Reason & ".  xlfuncs doctor  with the name of this workbook says more"
End Function

Private Sub Refuse(ByVal words As String)
    refusal = "Python was not reached: " & words & ". After mending it: Alt+F8, xlfuncs_try_again"
    Err.Raise 1000, , refusal
End Sub

Private Function Setting(ByVal key As String) As String
    Dim cells As Variant, row As Long
    On Error GoTo missing ' without the sheet no setting is known
    cells = ThisWorkbook.Worksheets("{sheet}").Range("A1:B2").Value2
    For row = 1 To 2
        If cells(row, 1) = key Then Setting = cells(row, 2)
    Next row
missing:
End Function

Private Sub ShowStatus(ByVal words As Variant)
    On Error Resume Next ' some programs with this object have no status bar
    If Val(Application.Version) >= 14 Then Application.StatusBar = words
End Sub

' All arguments as values; `more` are those that may come any number of times. One that is left out
' goes as a blank, which stands for the same.
Private Function Values(ByVal given As Variant, Optional ByVal more As Variant) As Variant
    Dim found() As Variant, last As Long
    last = UBound(given)
    If Not IsMissing(more) Then last = last + UBound(more) + 1
    ReDim found(0 To last)
    Copy given, found, 0
    If Not IsMissing(more) Then Copy more, found, UBound(given) + 1
    Values = found
End Function

Private Sub Copy(ByRef given As Variant, ByRef found() As Variant, ByVal first As Long)
    Dim k As Long
    For k = 0 To UBound(given)
        If Not IsMissing(given(k)) Then
            If IsObject(given(k)) Then found(first + k) = CellValues(given(k)) Else found(first + k) = given(k)
        End If
    Next k
End Sub

' What a range holds. A date stays a date; money keeps all its digits, of which Value has four.
Private Function CellValues(ByVal given As Object) As Variant
    Dim found As Variant, exact As Variant, row As Long, column As Long
    If given.Areas.Count > 1 Then Err.Raise 1000, , "An argument is a reference to several areas"
    exact = given.Value2
    On Error GoTo undated ' a number beyond all dates in a cell that is to show a date
    found = given.Value
    If Not IsArray(found) Then
        If VarType(found) = vbCurrency Then found = exact
    Else
        For row = 1 To UBound(found, 1)
            For column = 1 To UBound(found, 2)
                If VarType(found(row, column)) = vbCurrency Then found(row, column) = exact(row, column)
            Next column
        Next row
    End If
    CellValues = found
    Exit Function
undated:
    CellValues = exact
End Function

Private Function FromPython(ByVal found As Variant) As Variant
    Dim row As Long, column As Long
    If Not IsArray(found) Then
        FromPython = CellFromPython(found)
        Exit Function
    End If
    If Dimensions(found) = 1 Then
        For column = LBound(found) To UBound(found)
            found(column) = CellFromPython(found(column))
        Next column
    Else
        For row = LBound(found, 1) To UBound(found, 1)
            For column = LBound(found, 2) To UBound(found, 2)
                found(row, column) = CellFromPython(found(row, column))
            Next column
        Next row
    End If
    FromPython = found
End Function

Private Function Dimensions(ByRef found As Variant) As Long
    Dim last As Long
    Dimensions = 1
    On Error GoTo one
    last = UBound(found, 2)
    Dimensions = 2
one:
End Function

' Marked text is an error; text that starts with the mark by itself came with one more.
Private Function CellFromPython(ByVal value As Variant) As Variant
    CellFromPython = value
    If VarType(value) <> vbString Then Exit Function
    If Left$(value, {mark_length}) <> "{mark}" Then Exit Function
    Select Case Mid$(value, {mark_length} + 1)
{cases}
        Case Else: CellFromPython = Mid$(value, {mark_length} + 1)
    End Select
End Function
